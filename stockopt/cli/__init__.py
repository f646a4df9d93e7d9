"""The commands: parse, call one verb, print. Each loads the rooms that it needs itself."""
