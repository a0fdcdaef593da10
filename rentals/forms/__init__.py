"""Forms: what was typed becomes plain values; rules of the trade stay in the actions."""
