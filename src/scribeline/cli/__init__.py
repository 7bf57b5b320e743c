"""The command line: arguments in, text out. It calls tasks and nothing deeper."""
