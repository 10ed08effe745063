//! The file as a whole, and what the study asks.

use super::super::field::{Field, Kind, Need, Table, number, optional, required};
use super::{
    COOLING, DOUGH, LINE, MATERIAL, MOST_MATERIALS, MOST_TREATMENTS, NAME, NOTE, OVEN, PACK, PIECE,
    PROCESS, TREATMENT,
};
use crate::model::Place;
use formula::Species;
use measure::Range;

/// The whole file.
pub static ROOT: Table = Table {
    name: "a study file",
    doc: "What is baked, on what, and the treatments that are compared.",
    fields: &[
        required(
            "hardtack",
            Kind::Whole(Range::new(1.0, 1.0)),
            "version of the written form; this one is 1",
        ),
        required("study", Kind::Table(&STUDY), "what the study asks"),
        optional(
            "material",
            Kind::Tables(&MATERIAL, MOST_MATERIALS),
            "materials of your own, and values of yours for materials of the shelf",
        ),
        required("piece", Kind::Table(&PIECE), "the piece as cut"),
        optional(
            "process",
            Kind::Table(&PROCESS),
            "how the dough is mixed and formed",
        ),
        optional(
            "dough",
            Kind::Table(&DOUGH),
            "the dough as it comes to the oven",
        ),
        required("oven", Kind::Table(&OVEN), "the oven and its setting"),
        optional("cooling", Kind::Table(&COOLING), "cooling after the oven"),
        optional("pack", Kind::Table(&PACK), "the closed pack"),
        optional(
            "line",
            Kind::Table(&LINE),
            "the stations beside the oven, and what they cost",
        ),
        required(
            "treatment",
            Kind::Tables(&TREATMENT, MOST_TREATMENTS),
            "the treatments; one of them is the control",
        ),
    ],
};

/// What the study asks.
pub static STUDY: Table = Table {
    name: "study",
    doc: "The question, whom the treat is for, and the moisture that the bake aims at.",
    fields: &[
        required("name", Kind::Text(NAME), "what the study is called"),
        optional("question", Kind::Text(NOTE), "what it wants to know"),
        Field {
            key: "species",
            kind: Kind::Choice(species),
            need: Need::OrWord("dog"),
            doc: "the animal the treat is for; cautions and energy depend on it",
        },
        required(
            "control",
            Kind::Treatment,
            "the treatment that the others are compared with",
        ),
        Field {
            key: "currency",
            kind: Kind::Text(3),
            need: Need::OrWord("EUR"),
            doc: "currency of every price in the file, three letters",
        },
        optional(
            "invented",
            Kind::Flag,
            "true when the data are made up; every report then says so",
        ),
        required(
            "target",
            Kind::Inline(&TARGET),
            "the moisture that the bake aims at, and where",
        ),
        optional("note", Kind::Text(NOTE), "anything else"),
    ],
};

/// The moisture target.
pub static TARGET: Table = Table {
    name: "target",
    doc: "Water flashes off after the oven, so a target says where it holds.",
    fields: &[
        required(
            "moisture_pct",
            number("%", 1.0, 30.0),
            "mean moisture of the piece, wet basis",
        ),
        Field {
            key: "at",
            kind: Kind::Choice(places),
            need: Need::OrWord("packed"),
            doc: "where the moisture holds",
        },
    ],
};

/// The key under [`TARGET`] that names the place.
pub const AT: &str = "at";

fn species() -> Vec<&'static str> {
    Species::ALL.into_iter().map(Species::word).collect()
}

fn places() -> Vec<&'static str> {
    Place::ALL.into_iter().map(Place::written).collect()
}
