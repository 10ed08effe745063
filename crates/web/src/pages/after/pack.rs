//! The pack set in a form, and the table of films.

use crate::fields::Fields;
use crate::pages::InStudy;
use crate::pages::section::{Field, Filled, Maker, Set, Typed, field, one, shown_as};
use app::{SectionWritten, Settings, StudyView};
use maud::{Markup, html};
use paper::number;
use paper::parts::{Known, known};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use study::edit::Put;
use study::views::after_oven::Film;
use study::written::tables::RootRow;
use study::written::{Path, What};

/// The film of one's own, among the films of the table.
const OWN: &str = "own";

/// What a pack has beside the kind of its film.
const FIELDS: [Field; 7] = [
    Field {
        hint: "at 38 °C and 90 % relative humidity, from the maker’s sheet",
        ..field(
            "film_g_m2_day",
            "transmission of water vapour",
            "g/(m² d)",
            &[OWN],
            None,
        )
    },
    field("area_cm2", "film on a pack", "cm²", &[], Some("900")),
    field("content_g", "product in a pack", "g", &[], Some("400")),
    Field {
        text: true,
        hint: "°C / % relative humidity; several share the year: 10/60, 30/75",
        ..field("climate", "climate of the store", "", &[], Some("25/65"))
    },
    field("keep_months", "followed for", "months", &[], Some("12")),
    field(
        "crisp_water_activity",
        "crisp up to a water activity of",
        "",
        &[],
        Some("0.45"),
    ),
    field(
        "time_days",
        "evening-out followed for",
        "days",
        &[],
        Some("7"),
    ),
];

/// The form.
pub(super) fn form(page: &InStudy<'_>, set: &Set<'_>, typed: Option<&Typed>) -> Markup {
    let written = app::section_written(page.view, set.own.then_some(set.id), set.section);
    let film = if written.values.contains_key("film_g_m2_day") {
        OWN
    } else {
        "opp"
    };
    let mut ideas = BTreeMap::from([("film", film.to_owned())]);
    let usual = Film::find(written.values.get("film").map_or("opp", String::as_str));
    if let Ok(value) = usual.and_then(Film::transmission_g_per_m2_d) {
        let text = shown_as(&format!("{value:.1}"), "g/(m² d)", page.settings);
        ideas.insert("film_g_m2_day", text);
    }
    let filled = Filled::of(
        FIELDS.iter(),
        &["film"],
        &written,
        &ideas,
        typed,
        page.settings,
    );
    let words: Vec<(&str, String)> = Film::ALL
        .iter()
        .map(|f| match f.transmission_g_per_m2_d() {
            Ok(value) => (
                f.key,
                format!("{}, {} g/(m² d)", f.name, number::three(value)),
            ),
            Err(_) => (f.key, format!("{}: no value known", f.name)),
        })
        .chain([(OWN, "my own".to_owned())])
        .collect();
    let words: Vec<(&str, &str)> = words.iter().map(|(k, w)| (*k, w.as_str())).collect();
    html! {
        form #section-form .section-form .pack-form method="post" action={ "/study/" (page.view.thing) "/after" } novalidate {
            (set.carried(page))
            @if let Some(general) = filled.error("") { p .refused role="alert" { (general) } }
            fieldset {
                legend { "Film, pack and store" }
                (filled.choice("film", "film", &words))
                @for f in &FIELDS { (filled.input(f, page.settings)) }
            }
            p .set { button .main data-without-script { "Set" } }
        }
    }
}

/// Edits for what differs from what is written.
pub(super) fn typed(
    view: &StudyView,
    treatment: Option<&str>,
    now: &SectionWritten,
    fields: &Fields,
    settings: &Settings,
) -> Typed {
    let text = |path: &str| fields.maybe(path).unwrap_or_default().trim().to_owned();
    let was = |path: &str| now.values.get(path).map(String::as_str);
    let mut maker = Maker::of(view, RootRow::pack.name, treatment, settings.units);
    for path in FIELDS.iter().map(|f| f.path).chain(["film"]) {
        maker.typed.texts.insert(path.to_owned(), text(path));
    }
    let film = text("film");
    let had = if was("film_g_m2_day").is_some() {
        OWN
    } else {
        was("film").unwrap_or("opp")
    };
    if film != OWN && film != had {
        match Film::find(&film).and_then(Film::transmission_g_per_m2_d) {
            Ok(_) => maker.set("film", Some(Put::Text(film.clone()))),
            Err(error) => maker.refuse("film", &error.to_string()),
        }
    }
    for f in FIELDS.iter().filter(|f| f.of.is_empty() || film == OWN) {
        one(&mut maker, f, &text(f.path), was(f.path), false, settings);
    }
    maker.typed
}

/// The field that a problem of the pack is about.
pub(super) fn field_of(below: &Path, _: &What) -> Option<&'static str> {
    let key = below.to_string();
    FIELDS
        .iter()
        .map(|f| f.path)
        .chain(["film"])
        .find(|path| *path == key)
}

/// Every film with what is known of it.
pub(super) fn films() -> Markup {
    html! {
        details .reason .films-known {
            summary { "Films, and how well each is known" }
            table .films {
                thead { tr { th scope="col" { "film" } th .figure scope="col" { "g/(m² d)" } th scope="col" { "how it is known" } } }
                tbody {
                    @for f in &Film::ALL {
                        tr {
                            th scope="row" { (f.name) }
                            td .figure {
                                @match f.g_per_m2_d {
                                    Some((low, high)) => {
                                        @let text = if high - low < 1e-9 { number::plain(low) } else { format!("{} to {}", number::plain(low), number::plain(high)) };
                                        (known(&text, Known::from(f.source.grade)))
                                    }
                                    None => span .unknown tabindex="0" { span .unseen { "not known: " } span .why { "no value was found; ask its maker" } },
                                }
                            }
                            td .source { (f.source.grade.word()) ": " (f.source.text) }
                        }
                    }
                }
            }
            p .second { "Transmission of water vapour at 38 °C and 90 % relative humidity; the geometric mean is taken. The maker’s sheet decides: give its value as “my own”." }
        }
    }
}

/// Every film as JSON.
pub(super) fn films_json() -> Value {
    let one = |f: &Film| json!({ "key": f.key, "name": f.name, "g_per_m2_d": f.g_per_m2_d, "source": f.source });
    Film::ALL.iter().map(one).collect()
}
