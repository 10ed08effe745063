//! Lots of a material: written down with their certificates on its page, and under the sheet what taking one changes.

use super::who;
use crate::error::Failure;
use crate::fields::{Fields, put};
use crate::sent::Sent;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, Lot, LotInStudy, LotKept, Settings, Values, WentInto};
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::What;
use jiff::civil::Date;
use maud::{Markup, html};
use measure::rounding;
use paper::number;
use std::collections::BTreeMap;
use std::sync::Arc;
use study::compare::Bound;
use study::edit::Put;
use study::written::field::{Field, Kind};
use study::written::tables::{MATERIAL, MaterialRow, SPREAD};
use study::{Compared, Figure};

/// Where the lots stand on the sheet; a script fetches them, for every one is worked through the whole chain.
pub(crate) fn place(thing: &str) -> Markup {
    let from = format!("/study/{thing}/lots");
    html! {
        div #lots .no-print aria-live="polite" data-from=(from) { noscript { p { a href=(from) { "What another lot of a material would change" } } } }
    }
}

/// What taking each lot would change in a study.
pub(crate) async fn part(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let view = app.study(&settings.who, &thing).await.map_err(told)?;
    let lots = app.lots_in(&view).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(axum::Json(lots).into_response());
    }
    let shown = Shown {
        settings: &settings,
        currency: view
            .study
            .as_ref()
            .map_or("", |s| s.control().currency.as_str()),
        figures: settings.watched(),
    };
    let body = shown.lots(&thing, view.base, &lots);
    Ok(Html(body.into_string()).into_response())
}

/// How figures are shown.
struct Shown<'a> {
    settings: &'a Settings,
    currency: &'a str,
    figures: Vec<Figure>,
}

impl Shown<'_> {
    fn lots(&self, thing: &str, base: u64, lots: &[LotInStudy]) -> Markup {
        if lots.is_empty() {
            return html! {};
        }
        html! {
            section .part aria-labelledby="lots-head" {
                h2 #lots-head { "Lots" }
                p .second { "What each lot that is written down would change here, with the study as it stands now. Open a material to write one down. " (Bound::LEGEND) }
                div .scroll role="region" aria-label="Lots" tabindex="0" { table .list .lots {
                    thead { tr {
                        th scope="col" { "treatment" }
                        @for figure in &self.figures { th .figure scope="col" { (figure.about().name) @let unit = self.unit(*figure); @if !unit.is_empty() { span .unit { ", " (unit) } } } }
                    } }
                    @for lot in lots { (self.lot(thing, base, lot)) }
                } }
            }
        }
    }

    fn unit(&self, figure: Figure) -> String {
        let unit = figure.about().unit.replace('¤', self.currency);
        self.settings.units.unit(&unit).to_owned()
    }

    /// A lot, and the treatments that it moves.
    fn lot(&self, thing: &str, base: u64, lot: &LotInStudy) -> Markup {
        let moved: Vec<&(Compared, Compared)> =
            lot.with.iter().filter(|pair| self.moves(pair)).collect();
        let all = self.figures.len() + 1;
        html! {
            tbody {
                tr .lot-head { th scope="rowgroup" colspan=(all) { div {
                    (self.named(lot))
                    @if !lot.taken || !lot.with.is_empty() {
                        form .line method="post" action={ "/study/" (thing) "/lots" } {
                            input type="hidden" name="base" value=(base);
                            input type="hidden" name="material" value=(lot.lot.lot.material);
                            input type="hidden" name="code" value=(lot.lot.lot.code);
                            button { @if lot.taken { "Take the certificate as corrected" } @else { "Take this lot" } }
                        }
                    }
                } } }
                @if moved.is_empty() {
                    tr { td colspan=(all) {
                        @match &lot.why {
                            Some(why) => { "With it the study couldn’t be worked out: " (why) }
                            None if lot.taken => "The study is worked out with it."
                            None => "It moves none of these answers by a digit that is shown."
                        }
                    } }
                }
                @for (with, now) in moved {
                    tr {
                        th scope="row" { (with.answer.name) }
                        @for figure in &self.figures { td .figure { (self.figure(*figure, with, now)) } }
                    }
                }
            }
        }
    }

    fn named(&self, kept: &LotInStudy) -> Markup {
        let lot = &kept.lot.lot;
        let day = |date: Date| self.settings.dates.day(date);
        html! {
            a href={ "/material/" (lot.material) "?lot=" (super::study::encoded(&lot.code)) "#lots" } { (kept.name) ", " (lot.code) }
            @if kept.taken { " " span .unsaved { "in use" } }
            span .second {
                @if let Some(received) = lot.received { ", came in " (day(received)) }
                @if let Some(last) = lot.best_before { ", to be used by " (day(last)) }
            }
        }
    }

    fn moves(&self, (with, now): &(Compared, Compared)) -> bool {
        self.figures.iter().any(|figure| {
            match (figure.value(&with.answer), figure.value(&now.answer)) {
                (Some(with), Some(now)) => self.gap(*figure, with, now) != 0.0,
                (with, now) => with.is_some() != now.is_some(),
            }
        })
    }

    fn places(&self, figure: Figure, value: f64) -> usize {
        let unit = figure.about().unit;
        self.settings
            .units
            .decimals(unit, figure.decimals_for(value))
    }

    fn gap(&self, figure: Figure, with: f64, now: f64) -> f64 {
        let shown = |v| self.settings.units.value(v, figure.about().unit);
        rounding::shown_gap(shown(with), shown(now), self.places(figure, now))
    }

    /// A figure with the lot, and how far that moves it; each with its mark where something it stands on isn't known.
    fn figure(&self, figure: Figure, with: &Compared, now: &Compared) -> Markup {
        let Some(value) = figure.value(&with.answer) else {
            return html! { "not known" };
        };
        let before = figure.value(&now.answer);
        let places = self.places(figure, before.unwrap_or(value));
        let shown = self.settings.units.value(value, figure.about().unit);
        let gap = before.map(|now| self.gap(figure, value, now));
        let bound = Compared::beside(Arc::clone(&with.answer), &now.answer).difference(figure);
        let bound = bound.map_or(Bound::About, |d| d.bound);
        html! {
            (figure.sure(&with.answer).mark()) (number::fixed(shown, places))
            @match gap {
                Some(gap) if gap != 0.0 => { br; span .second { (bound.mark()) (rounding::signed(gap, places)) } }
                Some(_) => {}
                None => { br; span .second { "not known now" } }
            }
        }
    }
}

/// Takes a lot into a study's draft.
pub(crate) async fn take(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let base = fields.count("base").map_err(told)?;
    let lot = (
        fields.text("material").map_err(told)?,
        fields.text("code").map_err(told)?,
    );
    app.take_lot(&who, &thing, base, lot).await.map_err(told)?;
    Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response())
}

/// Where a lot went: the batches it was weighed into, what was measured and packed of them, and what else went in.
pub(crate) async fn went(
    State(app): State<App>,
    Path(id): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let code = query.text("lot").map_err(told)?.trim();
    let went = app.lot_went(&id, code).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(axum::Json(went).into_response());
    }
    let settings = app.settings().await.map_err(told)?;
    let name = app.material(&id).await.ok().and_then(|m| m.material);
    let name = name.map_or_else(|| id.clone(), |m| m.name.clone());
    let title = format!("Where lot {code} went");
    let body = html! {
        h1 { (title) }
        p { a href=(format!("/material/{id}#lots")) { (name) }
            @match &went.lot {
                Some(LotKept { lot, .. }) => {
                    @if let Some(day) = lot.received { ", came in " (settings.dates.day(day)) }
                    @if let Some(day) = lot.best_before { ", to be used by " (settings.dates.day(day)) }
                    @if let Some(certificate) = &lot.certificate { ", certificate " (certificate) }
                }
                None => { ". It was named at the bench; it isn’t written down with its certificate." }
            }
        }
        @if went.batches.is_empty() { p { "No batch names it." } }
        @else {
            div .scroll role="region" aria-label=(title) tabindex="0" { table .list {
                thead { tr {
                    th scope="col" { "batch" } th scope="col" { "day" } th scope="col" { "treatment" } th .figure scope="col" { "weighed, kg" }
                    th .figure scope="col" { "measurements" } th scope="col" { "packed" } th scope="col" { "other lots in it" } th scope="col" { "how it stands" }
                } }
                tbody { @for batch in &went.batches { (batch_row(batch, &id, code)) } }
            } }
            p .second { (went.batches.len()) @if went.batches.len() == 1 { " batch." } @else { " batches." } " A lot that nobody named when it was weighed can’t be found." }
        }
    };
    Ok(shell::page_of("materials", &title, &body).into_response())
}

fn batch_row(batch: &WentInto, material: &str, code: &str) -> Markup {
    let WentInto { called, made } = batch;
    let state = &made.state;
    let own = |of: &Option<String>| of.as_deref() == Some(material);
    let weighed = state.of(What::Weighed).filter(|v| own(&v.of)).last();
    let words = |what: What| state.words.iter().filter(move |k| k.what == what);
    let others = words(What::Lot).filter(|k| !(own(&k.of) && k.words == code));
    let others: Vec<String> = others
        .map(|k| match &k.of {
            Some(of) => format!("{} {}", super::materials::in_words(of), k.words),
            None => k.words.clone(),
        })
        .collect();
    let packed = state.of(What::Packed).map(|v| v.value).sum::<f64>();
    html! {
        tr {
            th scope="row" { a href={ "/bench/" (made.id) "/sheet" } { (made.batch.code) } }
            td { (made.batch.day().unwrap_or("–")) } td { (called) }
            td .figure { @match weighed { Some(v) => (number::fixed(v.value, 3)), None => "not told" } }
            td .figure { (state.measured().count()) }
            td { @if packed > 0.0 { (number::fixed(packed, 0)) " packs" } @else { "–" } }
            td .words { @if others.is_empty() { "–" } @else { (others.join("; ")) } }
            td { @match (&state.abandoned, &state.signed) { (Some(why), _) => { "given up: " (why.words) } (_, Some(_)) => "signed" _ => "open" } }
        }
    }
}

/// What somebody typed of a lot that couldn't be taken, and by field why.
#[derive(Default)]
pub(crate) struct Typed {
    fields: Option<Fields>,
    wrong: BTreeMap<String, String>,
}

/// The paths of what a certificate tells of a material, each with that of its spread.
fn told_by_certificates() -> impl Iterator<Item = (&'static str, Option<String>)> {
    const NOT: [&str; 4] = [
        MaterialRow::price_per_kg.name,
        MaterialRow::price_low_per_kg.name,
        MaterialRow::price_high_per_kg.name,
        MaterialRow::water_uptake_sd_kg_per_kg.name,
    ];
    let number = |f: &&Field| matches!(f.kind, Kind::Number(..)) && !NOT.contains(&f.key);
    MATERIAL.fields.iter().filter(number).map(|f| {
        let spread = match SPREAD.field(f.key) {
            Some(spread) => Some(format!("{}.{}", MaterialRow::spread.name, spread.key)),
            None if f.key == MaterialRow::water_uptake_kg_per_kg.name => {
                Some(MaterialRow::water_uptake_sd_kg_per_kg.name.to_owned())
            }
            None => None,
        };
        (f.key, spread)
    })
}

/// The lots on the page of a material, and the form for one more or for the one that was opened.
pub(crate) fn of_material(
    material: &str,
    lots: &[LotKept],
    opened: Option<&str>,
    settings: &Settings,
    typed: &Typed,
) -> Markup {
    let kept = opened.and_then(|code| lots.iter().find(|kept| kept.lot.code == code));
    let day = |date: Option<Date>| date.map_or_else(|| "–".to_owned(), |d| settings.dates.day(d));
    let of_lot = |path: &str| match kept.and_then(|k| k.lot.values.get(path)) {
        Some(Put::Number(n)) => {
            book::exchange::write_number(*n, settings.decimal).unwrap_or_default()
        }
        Some(Put::Text(text)) => text.clone(),
        _ => String::new(),
    };
    let value = |name: &str, kept: String| match &typed.fields {
        Some(fields) => fields.maybe(name).unwrap_or_default().to_owned(),
        None => kept,
    };
    let text =
        |of: &dyn Fn(&Lot) -> Option<String>| kept.and_then(|k| of(&k.lot)).unwrap_or_default();
    let base = match &typed.fields {
        Some(fields) => fields.maybe("base").map(str::to_owned),
        None => kept.map(|k| k.entry.number.to_string()),
    };
    let wrong = |name: &str| typed.wrong.get(name);
    let cell = |path: &str, label: String| {
        let name = format!("v.{path}");
        html! {
            input name=(name) value=(value(&name, of_lot(path))) inputmode="decimal" autocomplete="off" aria-label=(label) aria-invalid=[wrong(path).map(|_| "true")];
            @if let Some(why) = wrong(path) { span .wrong { (why) } }
        }
    };
    html! {
        h2 #lots { "Lots" }
        p { "Each lot with its certificate and its dates. The sheet of a study that has this material tells what each would change, and takes one when you say so." }
        @if !lots.is_empty() {
            div .scroll role="region" aria-label="Lots" tabindex="0" { table .list .lots-kept {
                thead { tr { th scope="col" { "lot" } th scope="col" { "came in" } th scope="col" { "to be used by" } th scope="col" { "certificate" } th scope="col" { "values" } th scope="col" { span .unseen { "where it went" } } } }
                tbody { @for k in lots { tr {
                    th scope="row" { a href={ "/material/" (material) "?lot=" (super::study::encoded(&k.lot.code)) "#lot" } { (k.lot.code) } }
                    td { (day(k.lot.received)) } td { (day(k.lot.best_before)) } td { (k.lot.certificate.as_deref().unwrap_or("–")) }
                    td .words { (in_short(&k.lot.values, settings)) }
                    td { a href={ "/material/" (material) "/went?lot=" (super::study::encoded(&k.lot.code)) } { "where it went" } }
                } } }
            } }
        }
        form #lot .lot method="post" action=(format!("/material/{material}/lots")) {
            h3 { @match kept { Some(k) => { "Lot " (k.lot.code) } None => "One more lot" } }
            @if !typed.wrong.is_empty() { p .wrong role="alert" { "Nothing was saved yet. What you typed stands below, with what is wrong beside it." } }
            @if let Some(why) = wrong("") { p .wrong { (why) } }
            @if let Some(base) = &base { input type="hidden" name="base" value=(base); }
            div .grid {
                label { span { "what stands on the bag" }
                    input name="code" required maxlength="60" value=(value("code", text(&|l| Some(l.code.clone())))) readonly[kept.is_some()] aria-invalid=[wrong("code").map(|_| "true")];
                    @if let Some(why) = wrong("code") { span .wrong { (why) } } }
                label { span { "came in" } input name="received" type="date" value=(value("received", text(&|l| l.received.map(|d| d.to_string()))));
                    @if let Some(why) = wrong("received") { span .wrong { (why) } } }
                label { span { "to be used by" } input name="best_before" type="date" value=(value("best_before", text(&|l| l.best_before.map(|d| d.to_string()))));
                    @if let Some(why) = wrong("best_before") { span .wrong { (why) } } }
                label { span { "certificate" } input name="certificate" maxlength="200" value=(value("certificate", text(&|l| l.certificate.clone()))); }
            }
            div .scroll role="region" aria-label="Values of the lot" tabindex="0" { table .list .lot-values {
                thead { tr { th scope="col" { "as received" } th .figure scope="col" { "value" } th .figure scope="col" { "spread of its analyses (sd)" } } }
                tbody { @for (path, spread) in told_by_certificates() { tr {
                    @let words = super::materials::in_words(path);
                    th scope="row" { (words) }
                    td { (cell(path, words.clone())) }
                    td { @if let Some(spread) = spread { (cell(&spread, format!("{words}, spread"))) } }
                } } }
            } }
            p .second { "Empty fields stay as the material has them. A spread needs its value." }
            button .main { "Save the lot" }
        }
    }
}

/// The values of a lot in a line.
fn in_short(values: &Values, settings: &Settings) -> String {
    let own = values.iter().filter(|(key, _)| !key.contains('.'));
    let told = own.filter_map(|(key, put)| match put {
        Put::Number(n) => {
            let n = book::exchange::write_number(*n, settings.decimal)?;
            Some(format!("{} {n}", super::materials::in_words(key)))
        }
        Put::Text(text) => Some(format!("{} {text}", super::materials::in_words(key))),
        _ => None,
    });
    told.collect::<Vec<_>>().join("; ")
}

/// Saves a lot, or gives the form back with everything that was typed.
pub(crate) async fn save(
    State(app): State<App>,
    Path(id): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let (lot, wrong) = lot_of(&id, &fields, &settings);
    let base = fields.maybe("base").map(|_| fields.count("base"));
    let base = base.transpose().map_err(told)?;
    let refused = if wrong.is_empty() {
        match app.save_lot(&settings.who, base, &lot).await {
            Ok(_) => return Ok(Redirect::to(&format!("/material/{id}#lots")).into_response()),
            Err(AppError::Value { field, why }) if field == "lot" => vec![("code".to_owned(), why)],
            Err(AppError::Value { field, why }) if field == "best before" => {
                vec![("best_before".to_owned(), why)]
            }
            Err(error @ (AppError::Value { .. } | AppError::Stale(_))) => {
                vec![(String::new(), error.to_string())]
            }
            Err(error) => return Err(told(error)),
        }
    } else {
        wrong
    };
    let typed = Typed {
        wrong: refused.into_iter().collect(),
        fields: Some(fields),
    };
    super::materials::again(&app, &id, typed, wants).await
}

fn lot_of(material: &str, fields: &Fields, settings: &Settings) -> (Lot, Vec<(String, String)>) {
    let mut wrong = Vec::new();
    let mut date = |name: &str| {
        let text = fields.maybe(name)?.trim();
        let read = text.parse::<Date>();
        if read.is_err() {
            let text: String = text.chars().take(40).collect();
            let why = format!("‘{text}’ is no date such as 2026-11-25");
            wrong.push((name.to_owned(), why));
        }
        read.ok()
    };
    let (received, best_before) = (date("received"), date("best_before"));
    let mut values = Values::new();
    let paths = told_by_certificates()
        .flat_map(|(path, spread)| [Some(path.to_owned()), spread])
        .flatten();
    for path in paths {
        let Some(text) = fields.maybe(&format!("v.{path}")) else {
            continue;
        };
        let key = path.rsplit('.').next().unwrap_or(&path);
        let kind = study::edit::field_of(&MATERIAL, &path).map(|f| f.kind);
        match put(text, kind, &super::materials::in_words(key), settings) {
            Ok(value) => {
                values.insert(path, value);
            }
            Err(AppError::Value { why, .. }) => wrong.push((path, why)),
            Err(error) => wrong.push((path, error.to_string())),
        }
    }
    let text = |name: &str| fields.maybe(name).map(|t| t.trim().to_owned());
    let lot = Lot {
        material: material.to_owned(),
        code: text("code").unwrap_or_default(),
        received,
        best_before,
        certificate: text("certificate"),
        values,
    };
    (lot, wrong)
}
