//! Plain tables in and out.
