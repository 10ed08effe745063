//! The treatment that is meant.

use study::Treatment;

/// The treatment with an id, or an error with the closest ones.
pub fn find<'a>(study: &'a study::Study, id: &str) -> anyhow::Result<&'a Treatment> {
    study.treatment(id).ok_or_else(|| {
        let ids: Vec<&str> = study.treatments.iter().map(|t| t.id.as_str()).collect();
        anyhow::anyhow!(
            "the study has no treatment `{id}`; it has {}",
            ids.join(", ")
        )
    })
}
