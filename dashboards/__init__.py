"""The pages of a book: Streamlit scripts over the answers of the logbook."""
