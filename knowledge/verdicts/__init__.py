"""What the rules come to: verdicts, their order, what the jug must show, what to ask next."""
