//! Two-ports: S, Y, Z, H, G and chain parameters, conversion, cascade, renormalisation.
