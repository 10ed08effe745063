//! The one list of responses.
