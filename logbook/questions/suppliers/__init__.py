"""Which backing supplier gives fewer defects on the same jobs, and at what cost."""
