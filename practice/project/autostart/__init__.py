"""Starting with the machine: what systemd, macOS and Windows each want to be told, written and taken back."""
