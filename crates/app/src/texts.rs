//! Texts of people as they are kept and shown.

use crate::AppError;
use study::written::StudyWritten;

/// A lasting name as it may be shown in a message.
pub(crate) fn shown(thing: &str) -> String {
    thing.chars().take(80).collect()
}

/// What people call a study.
pub(crate) fn title_of(written: &StudyWritten) -> String {
    written.name().unwrap_or("study").to_owned()
}

/// A reason as it is kept.
pub(crate) fn said(why: Option<String>) -> Result<Option<String>, AppError> {
    let Some(mut why) = why else { return Ok(None) };
    crate::cells::tidy(&mut why, "reason")?;
    Ok(Some(why.trim().to_owned()).filter(|w| !w.is_empty()))
}
