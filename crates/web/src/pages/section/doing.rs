//! Answers a form: edits of the draft, or the page again with what was refused beside its field.

use super::{FieldOf, Typed, place};
use crate::error::Failure;
use crate::fields::Fields;
use crate::pages::study::back;
use crate::pages::{InStudy, after, piece, who};
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, Settings, StudyView, section_written};
use axum::Json;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use serde_json::json;

/// Whether a change holds for the treatment alone: as asked, else where its values stand now.
pub(crate) fn is_own(whose: Option<&str>, view: &StudyView, id: &str, section: &str) -> bool {
    match whose {
        Some("own") => true,
        Some("study") => false,
        _ => section_written(view, Some(id), section).own,
    }
}

/// A form that is being answered.
pub(crate) struct Doing<'a> {
    pub app: &'a App,
    pub who: String,
    pub thing: &'a str,
    pub view: StudyView,
    pub settings: Settings,
    pub wants: Wants,
    pub section: &'static str,
    pub room: Room,
}

impl<'a> Doing<'a> {
    /// The study that the form is about, as it stands.
    pub(crate) async fn of(
        app: &'a App,
        thing: &'a str,
        wants: Wants,
        section: &'static str,
        room: Room,
    ) -> Result<Self, Failure> {
        let told = |e: AppError| Failure::of(e, wants);
        let who = who(app).await.map_err(told)?;
        Ok(Self {
            view: app.study(&who, thing).await.map_err(told)?,
            settings: app.settings().await.map_err(told)?,
            app,
            who,
            thing,
            wants,
            section,
            room,
        })
    }

    /// The treatment that the change is for; none for the study.
    pub(crate) fn treatment<'f>(&self, fields: &'f Fields) -> Result<Option<&'f str>, Failure> {
        let id = fields
            .text("treatment")
            .map_err(|e| Failure::of(e, self.wants))?;
        Ok(is_own(fields.maybe("whose"), &self.view, id, self.section).then_some(id))
    }

    /// Takes what was typed, all or none.
    pub(crate) async fn take(
        &self,
        fields: &Fields,
        own: Option<&str>,
        mut typed: Typed,
        field_of: FieldOf,
    ) -> Result<Response, Failure> {
        let told = |e| Failure::of(e, self.wants);
        if typed.errors.is_empty() && !typed.edits.is_empty() {
            let after = self
                .app
                .preview(&self.who, self.thing, &typed.edits)
                .await
                .map_err(told)?;
            place(
                &after.problems,
                self.section,
                own,
                field_of,
                self.settings.units,
                &mut typed,
            );
        }
        let query = fields
            .0
            .iter()
            .filter_map(|(k, v)| Some((k.strip_prefix("q.")?.to_owned(), v.clone())));
        let query = Fields(query.collect());
        if !typed.errors.is_empty() {
            return self.refused(&query, &typed).await;
        }
        if typed.edits.is_empty() {
            return back(self.app, &self.view, self.room, &query, self.wants).await;
        }
        let base = fields.count("base").map_err(told)?;
        let view = self
            .app
            .edit(&self.who, self.thing, base, &typed.edits)
            .await
            .map_err(told)?;
        back(self.app, &view, self.room, &query, self.wants).await
    }

    /// The page again with what was typed; nothing was kept.
    async fn refused(&self, query: &Fields, typed: &Typed) -> Result<Response, Failure> {
        let told = |e| Failure::of(e, self.wants);
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        if self.wants == Wants::Json {
            let what: Vec<&str> = typed.errors.values().map(String::as_str).collect();
            let answer = json!({
                "error": "That doesn't go", "what": what.join(" "), "way_out": "The book is as it was.",
                "fields": typed.errors,
            });
            return Ok((status, Json(answer)).into_response());
        }
        let here = InStudy {
            app: self.app,
            view: &self.view,
            settings: &self.settings,
            query,
        };
        let body = match self.room {
            Room::After => after::whole(&here, Some(typed)).await,
            _ => piece::whole(&here, Some(typed)).await,
        }
        .map_err(told)?;
        Ok(match self.wants {
            // A script puts the part in place of the page, and there the refusal stands at its field.
            Wants::Part => Html(
                shell::study_main(&self.view, self.room, &self.settings, query, &body)
                    .into_string(),
            )
            .into_response(),
            _ => (
                status,
                shell::study_page(&self.view, self.room, &self.settings, query, &body),
            )
                .into_response(),
        })
    }
}
