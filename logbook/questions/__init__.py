"""One folder a question: what is asked, the numbers of the answer, its words, tables and figure."""
