"""The command line: one module a command, with ``attach(parser)`` and ``main(args) -> int``."""
