from __future__ import annotations

from dashboards.run_entry.setup_words import needle_in_words, setup_in_words, work_in_words


def test_a_full_setup_reads_as_one_line() -> None:
    assert (
        setup_in_words(
            {
                "fabric": "performance polo",
                "fabric_shade": "light",
                "fabric_sheer": True,
                "backing": "sheer_mesh",
                "backing_gsm": 40.0,
                "backing_layers": 2,
                "backing_shade": "white",
                "backing_supplier": "Birch",
                "backing_lot": "B1447",
                "topping": "water_soluble_film",
                "hooping": "hooped",
                "needle_nm": 70,
                "needle_point": "medium_ball",
                "speed_spm": 760.0,
                "stitches_per_piece": 12610,
            }
        )
        == "Performance polo, light, sheer · Sheer mesh 40 g/m², 2 layers, white, Birch lot B1447"
        " · Water-soluble film · Hooped · 70/10 medium ball point · 760 stitches a minute"
        " · 12,610 stitches a piece"
    )


def test_what_is_not_recorded_is_left_out() -> None:
    assert setup_in_words({}) == ""
    assert setup_in_words({"backing": "none", "backing_layers": 0}) == "No backing"
    assert setup_in_words({"backing_lot": "B1"}) == "lot B1"
    assert work_in_words({"operator": "Noor A.", "head_count": 1}) == "Noor A. · 1 head"


def test_needles_are_said_as_on_the_packet() -> None:
    assert needle_in_words(75, "sharp") == "75/11 sharp needle"
    assert needle_in_words(73, None) == "73 needle"
    assert needle_in_words(None, None) == ""
