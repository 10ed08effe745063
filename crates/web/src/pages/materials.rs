//! Materials.
