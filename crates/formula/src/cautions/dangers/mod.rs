//! The one list of dangers, in three parts.

mod additives;
pub(in crate::cautions) mod flesh;
mod foods;
mod plants;

use super::danger::Danger;

/// Every danger that is told for being there; what is told by amount stands in
/// [`super::SUBSTANCES`].
pub const DANGERS: &[&[Danger]] = &[plants::PLANTS, foods::FOODS, additives::ADDITIVES];
