"""What is kept in a book and how it gets there: runs, sheets, designs, materials, photos, marks."""
