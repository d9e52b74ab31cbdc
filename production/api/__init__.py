"""What other programs ask for: orders in, states out. `addresses` is the list of what there is, `reference` its
OpenAPI document, and /api/ the same for people."""
