//! Pages of a long list.

use serde::{Deserialize, Serialize};

use crate::BookError;

/// Which part of a list is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Page {
    /// How many to pass over.
    pub start: u64,
    /// How many to give, 1 to [`Page::LONGEST`].
    pub count: u64,
}

impl Page {
    /// The longest page.
    pub const LONGEST: u64 = 1000;

    /// The first page of the given length.
    pub fn first(count: u64) -> Page {
        Page { start: 0, count }
    }

    pub(crate) fn checked(self) -> Result<Page, BookError> {
        if (1..=Page::LONGEST).contains(&self.count) {
            Ok(self)
        } else {
            Err(BookError::Refused {
                field: "page length",
                why: format!("{} was asked for; give 1 to {}", self.count, Page::LONGEST),
            })
        }
    }
}

/// A page of a list, and how long the whole list is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pageful<T> {
    /// What is on the page.
    pub items: Vec<T>,
    /// How many were passed over.
    pub start: u64,
    /// Length of the whole list.
    pub total: u64,
}

/// The order of a list of things.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Order {
    /// The most recently changed first.
    Recent,
    /// By title, without regard to capitals.
    Title,
}
