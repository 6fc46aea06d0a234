"""Who may come in and do what: passcodes, tokens, sessions, and the guard that asks for them."""
