//! Where a person's book lies unless they say otherwise.

use crate::AppError;
use etcetera::BaseStrategy;
use std::path::PathBuf;

/// The default book: `hardtack/hardtack.book` in the person's data folder.
///
/// # Errors
/// When no home folder can be found; then a path has to be given.
pub fn default_book() -> Result<PathBuf, AppError> {
    let folders = etcetera::choose_base_strategy().map_err(|_| AppError::NoHome)?;
    Ok(folders.data_dir().join("hardtack").join("hardtack.book"))
}
