"""Paper to carry: reports, field sheets and labels set by Typst."""
