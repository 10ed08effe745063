//! What edits would do, without keeping them.

use crate::drafts::Stands;
use crate::sheet::StudyView;
use crate::{App, AppError};
use study::edit::{self, Edit};

impl App {
    /// The study as it would stand after edits; nothing is written.
    ///
    /// # Errors
    /// What an edit can't do; what the book tells.
    pub async fn preview(
        &self,
        who: &str,
        thing: &str,
        edits: &[Edit],
    ) -> Result<StudyView, AppError> {
        let stands = self.stands(who, thing).await?;
        let mut written = stands.written.clone();
        for edit in edits {
            written = edit::apply(&written, edit)?;
        }
        crate::edits::still_worked_out(edits, &stands.written, &written)?;
        let text = study::written::write(&written);
        self.view(
            who,
            thing,
            Stands {
                text,
                written,
                ..stands
            },
        )
        .await
    }
}
