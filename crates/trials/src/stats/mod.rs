//! Statistics, one file per method.
