"""The finished project, looked back on."""
