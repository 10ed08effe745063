//! A treatment: its formula, or the control's with changes.

use super::super::field::{Field, Kind, Need, Table, number, number_or, optional, required};
use super::{
    COOLING, DOUGH, LINE, MOST_CHANGES, MOST_LINES, NAME, NOTE, OVEN, PACK, PIECE, PROCESS,
};
use crate::model::{Basis, WaterChoice};
use formula::{At, Stage};

/// A treatment.
pub static TREATMENT: Table = Table {
    name: "treatment",
    doc: "Either `lines`, a formula in full, or `from` and `changes`, another treatment's formula \
          changed. What it writes of piece, process, dough, oven, cooling, pack and line stands in \
          place of the study's, key by key.",
    fields: &[
        required("id", Kind::Id, "short name"),
        optional(
            "name",
            Kind::Text(NAME),
            "name as shown; the id unless written",
        ),
        optional("note", Kind::Text(NOTE), "why it is tried"),
        optional("from", Kind::Treatment, "the treatment that it starts from"),
        optional(
            "percent_of",
            Kind::Choice(bases),
            "what the amounts are told on: \"mix\" (all lines make 100; with water = \"need\" and no \
             line of water the others do), \"flour\" (the flour lines make 100), \"dry mix\" (all \
             but added water makes 100) or \"parts\" (any scale); \"mix\" unless written, or as in \
             the treatment it starts from",
        ),
        optional(
            "water",
            Kind::Choice(waters),
            "\"given\": the added water of the lines; \"need\": what the dough is predicted to ask \
             for; \"given\" unless written, or as in the treatment it starts from",
        ),
        optional(
            "lines",
            Kind::Lines(&FORMULA_LINE, MOST_LINES),
            "the formula",
        ),
        optional(
            "changes",
            Kind::Forms(CHANGES, MOST_CHANGES),
            "changes of the formula it starts from, in order",
        ),
        optional("piece", Kind::Table(&PIECE), "a piece of its own"),
        optional("process", Kind::Table(&PROCESS), "a process of its own"),
        optional("dough", Kind::Table(&DOUGH), "a dough of its own"),
        optional("oven", Kind::Table(&OVEN), "an oven or setting of its own"),
        optional("cooling", Kind::Table(&COOLING), "a cooling of its own"),
        optional("pack", Kind::Table(&PACK), "a pack of its own"),
        optional("line", Kind::Table(&LINE), "stations of its own"),
    ],
};

/// A line of a formula.
pub static FORMULA_LINE: Table = Table {
    name: "formula line",
    doc: "A material, when it goes in, and how much of it.",
    fields: &[
        required("material", Kind::Material, "the material"),
        optional(
            "stage",
            Kind::Choice(stages),
            "when it goes in; as usual for its kind unless written",
        ),
        optional(
            "amount",
            number("", 0.0, 1e6),
            "how much, on the basis of the treatment",
        ),
        optional(
            "balance",
            Kind::Flag,
            "true for the one line that takes up the rest to 100",
        ),
        optional(
            "flour",
            Kind::Flag,
            "whether it counts as flour; as usual for its kind unless written",
        ),
    ],
};

/// The forms of a change; the first key tells them apart.
pub static CHANGES: &[Table] = &[
    Table {
        name: "swap",
        doc: "Puts one material in place of another.",
        fields: &[
            required("swap", Kind::Material, "the material that goes out"),
            required("with", Kind::Material, "the material that comes in"),
            Field {
                key: "keep",
                kind: Kind::Choice(keeps),
                need: Need::OrWord("mass"),
                doc: "what stays equal",
            },
            number_or(
                "share_pct",
                "%",
                0.01,
                100.0,
                100.0,
                "how much of the line goes out",
            ),
        ],
    },
    Table {
        name: "set",
        doc: "Sets the amount of a line.",
        fields: &[
            required("set", Kind::Material, "the material"),
            required("amount", number("", 0.0, 1e6), "the new amount"),
            optional(
                "of",
                Kind::Choice(amount_bases),
                "what the amount is told on; as the treatment's percent_of unless written",
            ),
        ],
    },
    Table {
        name: "add",
        doc: "Adds a line.",
        fields: &[
            required("add", Kind::Material, "the material"),
            required("amount", number("", 0.0, 1e6), "how much"),
            optional(
                "of",
                Kind::Choice(amount_bases),
                "what the amount is told on; as the treatment's percent_of unless written",
            ),
            optional(
                "stage",
                Kind::Choice(stages),
                "when it goes in; as usual for its kind unless written",
            ),
            optional(
                "flour",
                Kind::Flag,
                "whether it counts as flour; as usual for its kind unless written",
            ),
        ],
    },
    Table {
        name: "remove",
        doc: "Takes a line out.",
        fields: &[required("remove", Kind::Material, "the material")],
    },
    Table {
        name: "scale_water",
        doc: "Multiplies the added water; everything else keeps its proportions.",
        fields: &[required("scale_water", number("", 0.0, 10.0), "factor")],
    },
];

fn stages() -> Vec<&'static str> {
    Stage::ALL.into_iter().map(Stage::word).collect()
}

fn bases() -> Vec<&'static str> {
    Basis::ALL.into_iter().map(Basis::written).collect()
}

fn waters() -> Vec<&'static str> {
    WaterChoice::ALL
        .into_iter()
        .map(WaterChoice::written)
        .collect()
}

fn amount_bases() -> Vec<&'static str> {
    vec!["mix", "flour", "parts"]
}

fn keeps() -> Vec<&'static str> {
    At::ALL.into_iter().map(keep_word).collect()
}

/// The word of a swap in files: what is kept, without the "equal".
pub(in super::super) fn keep_word(at: At) -> &'static str {
    let word = at.word();
    word.strip_prefix("equal ").unwrap_or(word)
}
