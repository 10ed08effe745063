//! Settings of the book.

use crate::error::Failure;
use crate::fields::Fields;
use crate::sent::Sent;
use crate::shell;
use crate::wants::Wants;
use app::{App, AppError, DateLanguage, Settings, Units};
use axum::Json;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use book::exchange::Decimal;
use maud::{Markup, html};

/// The page.
pub(crate) async fn page(State(app): State<App>, wants: Wants) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let s = app.settings().await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(s).into_response());
    }
    let info = app.info().await.map_err(told)?;
    let (notices, last_copy) = (
        app.notices().await.map_err(told)?,
        app.last_copy().map_err(told)?,
    );
    let now = app::now();
    let body = html! {
        h1 { "Settings" }
        form .stack method="post" action="/settings" {
            label { "Name on your changes" input name="who" value=(s.who) maxlength="200" required; }
            (choice("Units on screen", "units", &[("metric", "kg, mm, °C"), ("us", "lb, in, °F")], s.units.word()))
            p .second { "Pounds, inches and °F are shown on the sheet’s answers, the piece, the bake, after the oven and the line. Formulas, materials, files and printed reports stay metric." }
            label { "Currency of a new study, three letters" input name="currency" value=(s.currency) pattern="[A-Z]{3}" maxlength="3" required; }
            (dates(&s, &now))
            (choice("Decimal mark", "decimal", &[("point", "12.5"), ("comma", "12,5")], if s.decimal == Decimal::Comma { "comma" } else { "point" }))
            (choice("A copy of the book beside it", "copies", &[("yes", "every day, the last 14"), ("no", "none")], if s.copies { "yes" } else { "no" }))
            (choice("Studies as texts beside the book", "texts", &[("no", "every hundredth revision"), ("yes", "every save")], if s.texts { "yes" } else { "no" }))
            button .main { "Save" }
        }
        p { a .way href="/settings/devices" { "Devices at the bench, and who signs there" } }
        h2 { "The book" }
        @for notice in &notices { p .said role="alert" { (notice) } }
        dl .facts {
            dt { "file" } dd { code { (info.path.display()) } }
            dt { "size" } dd { (format!("{:.1} MB", info.bytes as f64 / 1e6)) }
            dt { "revisions" } dd { (info.revisions) }
            dt { "rows of the bench" } dd { (info.entries) }
            dt { "photographs" } dd { (info.pictures) }
            dt { "last copy" } dd { (last_copy.as_deref().unwrap_or("none yet")) }
            dt { "end of the chain" } dd { code { (info.tip.hash) } }
        }
    };
    Ok(shell::page_of("settings", "Settings", &body).into_response())
}

fn choice(label: &str, name: &str, options: &[(&str, &str)], now: &str) -> Markup {
    html! {
        label { (label) select name=(name) {
            @for (word, shown) in options { option value=(word) selected[*word == now] { (shown) } }
        } }
    }
}

fn dates(s: &Settings, now: &str) -> Markup {
    let options: Vec<(&str, String)> = DateLanguage::ALL
        .iter()
        .map(|d| (d.word(), d.written(now)))
        .collect();
    let options: Vec<(&str, &str)> = options
        .iter()
        .map(|(word, shown)| (*word, shown.as_str()))
        .collect();
    choice("Dates", "dates", &options, s.dates.word())
}

/// Saves them.
pub(crate) async fn save(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    app.change_settings(|before| read(&fields, before))
        .await
        .map_err(told)?;
    Ok(Redirect::to("/settings").into_response())
}

/// What was typed; what this page doesn’t show stays as it is.
fn read(fields: &Fields, before: Settings) -> Result<Settings, AppError> {
    let unknown = |field: &str| AppError::Value {
        field: field.to_owned(),
        why: "choose one of the list".to_owned(),
    };
    let word = |name: &str| fields.text(name);
    Ok(Settings {
        who: word("who")?.trim().to_owned(),
        currency: word("currency")?.trim().to_owned(),
        units: Units::ALL
            .into_iter()
            .find(|u| word("units").is_ok_and(|w| w == u.word()))
            .ok_or_else(|| unknown("units"))?,
        dates: DateLanguage::ALL
            .into_iter()
            .find(|d| word("dates").is_ok_and(|w| w == d.word()))
            .ok_or_else(|| unknown("dates"))?,
        decimal: match word("decimal")? {
            "point" => Decimal::Point,
            "comma" => Decimal::Comma,
            _ => return Err(unknown("decimal")),
        },
        copies: fields.maybe("copies") != Some("no"),
        texts: fields.maybe("texts") == Some("yes"),
        ..before
    })
}
