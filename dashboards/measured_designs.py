"""Measured stitch files, remembered: the file of a version never changes."""

from __future__ import annotations

import streamlit as st

from logbook.book.design_files import measured_again
from logbook.runs.designs import DesignVersion
from logbook.stitches import Measurement
from logbook.store import Store


def _which(version: DesignVersion) -> tuple[str, str, str]:
    return version.digest, version.ending, version.file_name


@st.cache_resource(max_entries=8, show_spinner=False, hash_funcs={DesignVersion: _which})
def measured(_store: Store, version: DesignVersion) -> Measurement:
    """The drawing and density map of a version."""
    return measured_again(_store, version)
