"""The terminal screens: each shows one frozen state and turns keys into calls of the flow."""
