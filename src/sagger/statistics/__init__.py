"""Laws true of any measured thing: chance, scatter, capability, charts."""
