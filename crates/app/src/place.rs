//! Where a person's book lies unless they say otherwise.

use crate::AppError;
use etcetera::BaseStrategy;
use std::path::{Path, PathBuf};

/// The default book: `hardtack/hardtack.book` in the person's data folder.
///
/// # Errors
/// When no home folder can be found; then a path has to be given.
pub fn default_book() -> Result<PathBuf, AppError> {
    let folders = etcetera::choose_base_strategy().map_err(|_| AppError::NoHome)?;
    Ok(folders.data_dir().join("hardtack").join("hardtack.book"))
}

/// Makes the folder of a book where it isn't there, for the person alone.
pub(crate) fn make_folder(path: &Path) -> Result<(), AppError> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path).map_err(|error| AppError::Folder {
        path: path.to_owned(),
        what: error.to_string(),
    })
}

/// Takes the right to look into the default book and its folder away from others, which earlier versions left them.
pub(crate) fn make_private(book: &Path) {
    #[cfg(unix)]
    if default_book().is_ok_and(|default| default == book) {
        use std::os::unix::fs::PermissionsExt;
        for (path, mode) in [(book.parent(), 0o700), (Some(book), 0o600)] {
            if let Some(path) = path {
                let _it_may_belong_to_another =
                    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode));
            }
        }
    }
    #[cfg(not(unix))]
    let _ = book;
}
