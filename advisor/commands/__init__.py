"""The commands, each in the module of its name: its help, its options and what it does. register.py lists them."""
