"""The version of the weighing, kept with each stored reading: raise it with every change that can alter a figure."""

WEIGHING_VERSION = "4"
