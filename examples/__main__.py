"""Writes the examples of the API's description anew, from what a service with the demo books answers."""

from examples.making import EXAMPLES, made

if __name__ == "__main__":
    EXAMPLES.write_bytes(made())
