//! The table as a whole: every column plausible, every row read, every value graded.

use super::*;
use crate::composition::Nutrient;
use crate::material::{Category, Gluten};
use measure::{Grade, Range};
use std::collections::BTreeSet;

#[test]
fn every_row_is_read_once_and_has_its_own_name() {
    assert_eq!(shelf().len(), 130);
    let ids: BTreeSet<_> = shelf().iter().map(|m| &m.id).collect();
    assert_eq!(ids.len(), 130);
    let used: BTreeSet<_> = shelf().iter().map(|m| m.category).collect();
    assert_eq!(used.len(), Category::ALL.len() - 1, "all kinds but `other`");
}
