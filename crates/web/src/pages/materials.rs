//! Materials: composition with source and grade of every value, one's own values, and where each
//! is used.

use super::exchange::upload;
use super::history::change_list;
use super::{lots, who};
use crate::error::Failure;
use crate::fields::{Fields, put};
use crate::sent::Sent;
use crate::shell::{self, Room};
use crate::wants::Wants;
use app::{App, AppError, LotKept, MaterialView, Settings, TableFormat, Values, Which};
use axum::Json;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use formula::{Material, Nutrient};
use maud::{Markup, html};
use paper::number;
use paper::parts::{Known, known};
use serde_json::json;
use std::collections::BTreeMap;
use study::edit::Put;
use study::written::field::{Field, Kind};
use study::written::tables::MATERIAL;

/// The list.
pub(crate) async fn list(
    State(app): State<App>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let search = query.maybe("q");
    let lines = app.materials(search).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(lines).into_response());
    }
    const SHOWN: [Nutrient; 5] = [
        Nutrient::Moisture,
        Nutrient::CrudeProtein,
        Nutrient::CrudeFat,
        Nutrient::CrudeFibre,
        Nutrient::Ash,
    ];
    let body = html! {
        h1 { "Materials" }
        form .line method="get" action="/materials" role="search" {
            label { span .unseen { "search" } input type="search" name="q" value=(search.unwrap_or("")) placeholder="words of name or kind"; }
            button { "Search" }
        }
        @if lines.is_empty() { p { "No material has these words. " a href="/materials" { "Show all" } } }
        @else {
            p .second { "As received. Dotted underline: assumed or recalled; filled circle: measured. Open a material for the source of each value." }
            div .scroll role="region" aria-label="Materials" tabindex="0" {
                table .list .materials {
                    thead { tr {
                        th scope="col" { "material" } th scope="col" { "kind" }
                        @for n in SHOWN { th .figure scope="col" { (n.word()) ", %" } }
                        th .figure scope="col" { "water uptake, kg/kg" } th .figure scope="col" { "price per kg" } th scope="col" { "source" }
                    } }
                    tbody {
                        @for line in &lines {
                            @let m = &line.material;
                            tr {
                                th scope="row" { a href=(format!("/material/{}", m.id)) { (m.name) } @if line.own { " " span .unsaved { "own" } } }
                                td { (m.category.word()) }
                                @for n in SHOWN { td .figure { (percent(m, n)) } }
                                td .figure { @match &m.water_uptake { Some(u) => (known(&number::fixed(u.kg_per_kg, 2), Known::from(u.source.grade))), None => (not_known()) } }
                                td .figure { @match &m.price { Some(p) => (price(p)), None => (not_known()) } }
                                td .unit { (m.source.grade.word()) }
                            }
                        }
                    }
                }
            }
        }
        h2 { "Tables" }
        p {
            "Own values " a href="/materials/export?which=own&format=csv" { "as CSV" } ", " a href="/materials/export?which=own&format=xlsx" { "as XLSX" }
            " · all " a href="/materials/export?which=all&format=csv" { "as CSV" } ", " a href="/materials/export?which=all&format=xlsx" { "as XLSX" }
            " · template " a href="/materials/export?which=template&format=csv" { "as CSV" } ", " a href="/materials/export?which=template&format=xlsx" { "as XLSX" }
        }
        form .line method="post" action="/materials/import" enctype="multipart/form-data" {
            label { "read in a table " input type="file" name="file" accept=".csv,.xlsx,text/csv"; }
            button { "Look at it first" }
        }
        form .line method="get" action="/materials/new" {
            label { "a material of your own, short name " input name="id" required pattern="[a-z0-9_\\-]{1,60}" maxlength="60"; }
            button { "Describe it" }
        }
    };
    Ok(shell::page_of("materials", "Materials", &body).into_response())
}

fn not_known() -> Markup {
    html! { span .unknown tabindex="0" { span .unseen { "not known: " } span .why { "no value on the shelf; give your own" } } }
}

fn percent(m: &Material, n: Nutrient) -> Markup {
    match m.composition.get(n) {
        Some(v) => known(
            &number::fixed(100.0 * v.fraction, 1),
            Known::from(v.source.grade),
        ),
        None => not_known(),
    }
}

fn price(p: &formula::Price) -> Markup {
    let text = if (p.high_per_kg - p.low_per_kg).abs() < 1e-9 {
        number::fixed(p.low_per_kg, 2)
    } else {
        format!(
            "{}–{}",
            number::fixed(p.low_per_kg, 2),
            number::fixed(p.high_per_kg, 2)
        )
    };
    known(&text, Known::from(p.source.grade))
}

/// A material that is neither on the shelf nor among one's own.
fn nowhere_yet(id: String) -> MaterialView {
    MaterialView {
        id,
        shelf: None,
        own: None,
        material: None,
        problems: Vec::new(),
        uses: Vec::new(),
    }
}

/// To the page of a material that isn't there yet.
pub(crate) async fn new(
    Query(query): Query<Fields>,
    State(app): State<App>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let id = query.text("id").map_err(told)?.trim().to_owned();
    let empty = nowhere_yet(id);
    let settings = app.settings().await.map_err(told)?;
    let page = Page {
        view: &empty,
        lots: &[],
        opened: None,
        settings: &settings,
    };
    let body = page.body(&Typed::default(), &lots::Typed::default());
    Ok(shell::page_of("materials", &empty.id, &body).into_response())
}

/// One material.
pub(crate) async fn one(
    State(app): State<App>,
    Path(id): Path<String>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.material(&id).await.map_err(told)?;
    let lots = app.lots(&id).await.map_err(told)?;
    if wants == Wants::Json {
        let mut told = json!(view);
        told["lots"] = json!(lots);
        return Ok(Json(told).into_response());
    }
    let settings = app.settings().await.map_err(told)?;
    let page = Page {
        view: &view,
        lots: &lots,
        opened: query.maybe("lot"),
        settings: &settings,
    };
    let body = page.body(&Typed::default(), &lots::Typed::default());
    Ok(shell::page_of("materials", page.name(), &body).into_response())
}

/// The page of a material again, with a lot that couldn't be saved as it was typed.
pub(super) async fn again(
    app: &App,
    id: &str,
    typed: lots::Typed,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let view = app.material(id).await.map_err(told)?;
    let lots = app.lots(id).await.map_err(told)?;
    let settings = app.settings().await.map_err(told)?;
    let page = Page {
        view: &view,
        lots: &lots,
        opened: None,
        settings: &settings,
    };
    let body = page.body(&Typed::default(), &typed);
    let status = StatusCode::UNPROCESSABLE_ENTITY;
    Ok((status, shell::page_of("materials", page.name(), &body)).into_response())
}

/// What the page of a material is made from.
struct Page<'a> {
    view: &'a MaterialView,
    lots: &'a [LotKept],
    /// The lot that is opened to be looked at or corrected.
    opened: Option<&'a str>,
    settings: &'a Settings,
}

impl Page<'_> {
    fn name(&self) -> &str {
        let view = self.view;
        view.material
            .as_ref()
            .map_or(view.id.as_str(), |m| m.name.as_str())
    }

    fn body(&self, typed: &Typed, lot: &lots::Typed) -> Markup {
        let Page {
            view,
            lots,
            opened,
            settings,
        } = self;
        html! {
            (view_body(view, settings, typed))
            @if view.material.is_some() { (lots::of_material(&view.id, lots, *opened, settings, lot)) }
        }
    }
}

/// What somebody typed in the form that couldn't be taken, and by field why.
#[derive(Default)]
struct Typed {
    fields: Option<Fields>,
    wrong: BTreeMap<String, String>,
    /// What is wrong with them together.
    said: Option<String>,
}

fn view_body(view: &MaterialView, settings: &Settings, typed: &Typed) -> Markup {
    let name = view
        .material
        .as_ref()
        .map_or(view.id.as_str(), |m| m.name.as_str());
    html! {
        h1 { (name) }
        @if let Some(m) = &view.material {
            p .second { code { (m.id) } " · " (m.category.word()) " · " (m.gluten.word()) @if !m.lot.is_empty() { " · lot " (m.lot) } }
            @if !m.caution.is_empty() { p { (m.caution) } }
            (composition(m))
            (paper::parts::findings(&m.findings()))
        }
        @if !view.problems.is_empty() {
            ul .findings { @for p in &view.problems { li .finding .stop { span .weight { "stop" } div { p { (p) } } } } }
        }
        h2 { "Used in" }
        @if view.uses.is_empty() { p { "No study uses it." } }
        @for u in &view.uses {
            section .use {
                h3 { a href=(Room::Sheet.address(&u.thing)) { (u.title) } }
                p { @if u.treatments.is_empty() { "in no formula" } @else { (u.treatments.join(", ")) } }
                @if !u.overrides.is_empty() {
                    p .second { "with values of its own: " (u.overrides.iter().map(|(k, v)| format!("{}: {v}", in_words(k))).collect::<Vec<_>>().join(", ")) }
                }
                @if view.own.is_some() {
                    form method="post" action=(format!("/study/{}/use-material", u.thing)) {
                        input type="hidden" name="material" value=(view.id);
                        button { "Take the own values into this study" }
                    }
                }
            }
        }
        h2 { "Own values" }
        p { "A certificate, a lot, a price, a titration: what you fill in stands in place of the shelf’s. Empty fields stay as the shelf has them. "
            "A study takes the values when you say so, and keeps them in its own text." }
        (own_form(view, settings, typed))
    }
}

fn composition(m: &Material) -> Markup {
    let source = |n: &Nutrient| m.composition.get(*n).map(|v| &*v.source.text);
    // A source that stands in the row above isn't told again.
    let mut above = None;
    let mut again = |n: &Nutrient| {
        let same = source(n).is_some() && source(n) == above;
        above = source(n).or(above);
        same
    };
    html! {
        div .scroll role="region" aria-label="Composition" tabindex="0" {
            table .list {
                thead { tr { th scope="col" { "as received" } th .figure scope="col" { "value" } th scope="col" { "unit" } th .figure scope="col" { "spread (sd)" } th scope="col" { "how it is known" } } }
                tbody {
                    @for n in Nutrient::ALL {
                        tr {
                            th scope="row" { (n.word()) }
                            @match m.composition.get(n) {
                                Some(v) => {
                                    td .figure { (known(&number::three(v.fraction * n.per_unit()), Known::from(v.source.grade))) }
                                    td .unit { (n.unit()) }
                                    td .figure { (number::three(v.sd_or_default(n) * n.per_unit())) }
                                    td .unit .words { (v.source.grade.word()) @if again(&n) { ", as above" } @else if !v.source.text.is_empty() { ": " (v.source.text) } }
                                }
                                None => { td .figure { (not_known()) } td .unit { (n.unit()) } td {} td {} }
                            }
                        }
                    }
                    @if let Some(u) = &m.water_uptake {
                        tr {
                            th scope="row" { "water uptake in dough" } td .figure { (known(&number::fixed(u.kg_per_kg, 2), Known::from(u.source.grade))) }
                            td .unit { "kg/kg" } td .figure { (number::fixed(u.sd, 2)) } td .unit .words { (u.source.grade.word()) ": " (u.source.text) }
                        }
                    }
                    @if let Some(p) = &m.price {
                        tr { th scope="row" { "price" } td .figure { (price(p)) } td .unit { "per kg" } td {} td .unit .words { (p.source.grade.word()) ": " (p.source.text) } }
                    }
                }
            }
        }
    }
}

/// A field as people say it, with its unit.
pub(super) fn in_words(key: &str) -> String {
    const UNITS: [(&str, &str); 4] = [
        ("_pct", ", %"),
        ("_kg_per_m3", ", kg/m³"),
        ("_kg_per_kg", ", kg/kg"),
        ("_mg_per_kg", ", mg/kg"),
    ];
    let unit = UNITS
        .iter()
        .find_map(|(end, u)| Some((key.strip_suffix(end)?, *u)));
    let (stem, unit) = unit.unwrap_or((key, ""));
    format!("{}{unit}", stem.replace('_', " "))
}

fn fields() -> impl Iterator<Item = &'static Field> {
    MATERIAL
        .fields
        .iter()
        .filter(|f| f.key != "id" && !matches!(f.kind, Kind::Inline(_)))
}

fn own_form(view: &MaterialView, settings: &Settings, typed: &Typed) -> Markup {
    let decimal = settings.decimal;
    let kept = |f: &Field| match view.own.as_ref().and_then(|o| o.values.get(f.key)) {
        None => String::new(),
        Some(Put::Number(n)) => book::exchange::write_number(*n, decimal).unwrap_or_default(),
        Some(Put::Text(text)) => text.clone(),
        Some(Put::Flag(flag)) => flag.to_string(),
        Some(Put::Words(words)) => words.join(", "),
    };
    let name = |f: &Field| format!("v.{}", f.key);
    let value = |f: &Field| match &typed.fields {
        Some(fields) => fields.maybe(&name(f)).unwrap_or_default().to_owned(),
        None => kept(f),
    };
    let (base, why) = match &typed.fields {
        Some(fields) => (fields.maybe("base").map(str::to_owned), fields.maybe("why")),
        None => (view.own.as_ref().map(|o| o.entry.number.to_string()), None),
    };
    html! {
        form .grid #own method="post" action=(format!("/material/{}", view.id)) {
            @if !typed.wrong.is_empty() { p .wrong role="alert" { "Nothing was saved yet: " (typed.wrong.len()) @if typed.wrong.len() == 1 { " field" } @else { " fields" } " can’t be read. What you typed stands below." } }
            @if let Some(said) = &typed.said { p .wrong role="alert" { "Nothing was saved yet: " (said) " What you typed stands below." } }
            @if let Some(base) = base { input type="hidden" name="base" value=(base); }
            @for f in fields() {
                @let wrong = typed.wrong.get(f.key);
                @let first = typed.wrong.keys().next().is_some_and(|key| key == f.key);
                label {
                    span { (in_words(f.key)) }
                    @match f.kind {
                        Kind::Choice(words) => {
                            select name=(name(f)) title=(f.doc) aria-invalid=[wrong.map(|_| "true")] autofocus[first] {
                                option value="" { "–" }
                                @for word in words() { option value=(word) selected[value(f) == word] { (word) } }
                            }
                        }
                        _ => input name=(name(f)) value=(value(f)) title=(f.doc) autocomplete="off" aria-invalid=[wrong.map(|_| "true")] autofocus[first];,
                    }
                    @if let Some(why) = wrong { span .wrong { (why) } }
                }
            }
            label { span { "why" } input name="why" value=[why] maxlength="2000"; }
            button .main { "Save own values" }
        }
    }
}

/// Saves one's own values.
pub(crate) async fn save(
    State(app): State<App>,
    Path(id): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let settings = app.settings().await.map_err(told)?;
    let (values, wrong) = values(&fields, &settings);
    if !wrong.is_empty() {
        return not_taken(&app, &id, Refused { wrong, whole: None }, fields, wants).await;
    }
    let base = if fields.maybe("base").is_some() {
        Some(fields.count("base").map_err(told)?)
    } else {
        None
    };
    let why = fields.maybe("why").map(str::to_owned);
    match app
        .save_material(&settings.who, &id, base, &values, why)
        .await
    {
        Ok(_) => Ok(Redirect::to(&format!("/material/{id}")).into_response()),
        Err(error @ (AppError::Value { .. } | AppError::Stale(_))) => {
            let whole = Some(error);
            let wrong = Vec::new();
            not_taken(&app, &id, Refused { wrong, whole }, fields, wants).await
        }
        Err(error) => Err(told(error)),
    }
}

/// Why a form couldn't be taken: by field, and of all together.
struct Refused {
    wrong: Vec<(&'static str, AppError)>,
    whole: Option<AppError>,
}

/// The form again with everything that was typed, and beside each field what is wrong with it.
async fn not_taken(
    app: &App,
    id: &str,
    refused: Refused,
    mut fields: Fields,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let Refused { wrong, whole } = refused;
    if wants == Wants::Json {
        let first = wrong.into_iter().map(|(_, e)| e).chain(whole).next();
        return Err(told(first.unwrap_or(AppError::Busy)));
    }
    let view = match app.material(id).await {
        Ok(view) => view,
        Err(AppError::NoMaterial(_)) => nowhere_yet(id.to_owned()),
        Err(error) => return Err(told(error)),
    };
    let settings = app.settings().await.map_err(told)?;
    let why = |error: AppError| match error {
        AppError::Value { why, .. } => why,
        error => error.to_string(),
    };
    let wrong = wrong.into_iter().map(|(key, e)| (key.to_owned(), why(e)));
    let status = match &whole {
        Some(AppError::Stale(_)) => {
            // What others saved stands above now; saving again is done in knowledge of it.
            let newest = view.own.as_ref().map(|o| o.entry.number.to_string());
            fields.0.extend(newest.map(|n| ("base".to_owned(), n)));
            StatusCode::CONFLICT
        }
        _ => StatusCode::UNPROCESSABLE_ENTITY,
    };
    let typed = Typed {
        wrong: wrong.collect(),
        said: whole.map(|e| e.to_string()),
        fields: Some(fields),
    };
    let lots = app.lots(id).await.map_err(told)?;
    let page = Page {
        view: &view,
        lots: &lots,
        opened: None,
        settings: &settings,
    };
    let body = page.body(&typed, &lots::Typed::default());
    Ok((status, shell::page_of("materials", id, &body)).into_response())
}

/// The values of a form, and the fields that can't be read.
fn values(form: &Fields, settings: &Settings) -> (Values, Vec<(&'static str, AppError)>) {
    let (mut values, mut wrong) = (Values::new(), Vec::new());
    for field in fields() {
        if let Some(text) = form.maybe(&format!("v.{}", field.key)) {
            match put(text, Some(field.kind), &in_words(field.key), settings) {
                Ok(value) => {
                    values.insert(field.key.to_owned(), value);
                }
                Err(error) => wrong.push((field.key, error)),
            }
        }
    }
    (values, wrong)
}

/// Puts one's own values for a material into a study's draft.
pub(crate) async fn use_in_study(
    State(app): State<App>,
    Path(thing): Path<String>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let who = who(&app).await.map_err(told)?;
    let seen = app.study(&who, &thing).await.map_err(told)?.base;
    app.use_material(&who, &thing, seen, fields.text("material").map_err(told)?)
        .await
        .map_err(told)?;
    Ok(Redirect::to(&Room::Sheet.address(&thing)).into_response())
}

/// Materials as a table file.
pub(crate) async fn export(
    State(app): State<App>,
    Query(query): Query<Fields>,
    wants: Wants,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let which = match query.maybe("which") {
        Some("own") => Which::Own,
        Some("template") => Which::Template,
        _ => Which::All,
    };
    let format = TableFormat::ALL
        .into_iter()
        .find(|f| query.maybe("format") == Some(f.word()))
        .unwrap_or(TableFormat::Csv);
    let bytes = app.export_materials(which, format).await.map_err(told)?;
    let kind = match format {
        TableFormat::Csv => "text/csv; charset=utf-8",
        TableFormat::Xlsx => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    };
    let disposition = format!("attachment; filename=\"materials.{}\"", format.word());
    Ok((
        [
            (CONTENT_TYPE, kind.to_owned()),
            (CONTENT_DISPOSITION, disposition),
        ],
        bytes,
    )
        .into_response())
}

/// A look at a table before it is read in.
pub(crate) async fn import(
    State(app): State<App>,
    wants: Wants,
    parts: Multipart,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let upload = upload(parts, wants, None).await?;
    let rows = app.preview_materials(upload.bytes).await.map_err(told)?;
    if wants == Wants::Json {
        return Ok(Json(rows).into_response());
    }
    let good: Vec<(&str, &Values)> = rows
        .iter()
        .filter(|r| r.trouble.is_none())
        .map(|r| (r.id.as_str(), &r.values))
        .collect();
    let carried =
        serde_json::to_string(&good).map_err(|e| told(AppError::BrokenOff(e.to_string())))?;
    let body = html! {
        h1 { "Before it is read in" }
        @for r in &rows {
            section {
                h3 { "Row " (r.row) ": " (r.id) }
                @match &r.trouble {
                    Some(trouble) => p { span .worse { "Left out: " } (trouble) },
                    None => (change_list(&r.changes)),
                }
            }
        }
        @if good.is_empty() { p { "No row can be read in." } }
        @else {
            form method="post" action="/materials/import/confirm" {
                textarea name="rows" .unseen tabindex="-1" aria-hidden="true" readonly { "\n" (carried) }
                button .main { "Read in " (good.len()) @if good.len() == 1 { " material" } @else { " materials" } }
            }
        }
        p { a href="/materials" { "Leave it" } }
    };
    Ok(shell::page_of("materials", "Before it is read in", &body).into_response())
}

/// Reads in the materials that were looked at.
pub(crate) async fn confirm(
    State(app): State<App>,
    wants: Wants,
    Sent(fields): Sent,
) -> Result<Response, Failure> {
    let told = |e| Failure::of(e, wants);
    let rows: Vec<(String, Values)> =
        serde_json::from_str(fields.text("rows").map_err(told)?.trim()).map_err(|e| {
            told(AppError::Value {
                field: "rows".to_owned(),
                why: e.to_string(),
            })
        })?;
    let who = who(&app).await.map_err(told)?;
    app.import_materials(&who, &rows).await.map_err(told)?;
    Ok(Redirect::to("/materials").into_response())
}
