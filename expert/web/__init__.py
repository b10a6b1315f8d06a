"""Pages for a phone's browser: a face over the same session, with nobody let in unasked."""
