//! A treatment: its formula, or the control's with changes.

use super::{
    COOLING, CoolingRow, DOUGH, DoughRow, LEARNED, LINE, LearnedRow, LineRow, MOST_CHANGES,
    MOST_LINES, NAME, NOTE, OVEN, OvenRow, PACK, PIECE, PROCESS, PackRow, PieceRow, ProcessRow,
};
use crate::model::{Basis, WaterChoice};
use crate::written::field::Table;
use crate::written::row::Row;
use crate::written::typed::{FromRow, table};
use crate::written::word::{Word, word};
use formula::{At, Stage};

table! {
    /// A treatment.
    TREATMENT, TreatmentRow = "treatment",
        "Either `lines`, a formula in full, or `from` and `changes`, another treatment's formula \
         changed. What it writes of piece, process, dough, oven, cooling, pack, line and learned stands in \
         place of the study's, key by key.";
    id: id() required, "short name";
    name: text(NAME) optional, "name as shown; the id unless written";
    note: text(NOTE) optional, "why it is tried";
    from: treatment() optional, "the treatment that it starts from";
    percent_of: choice(Basis) optional,
        "what the amounts are told on: \"mix\" (all lines make 100; with water = \"need\" and no \
         line of water the others do), \"flour\" (the flour lines make 100), \"dry mix\" (all \
         but added water makes 100) or \"parts\" (any scale); \"mix\" unless written, or as in \
         the treatment it starts from";
    water: choice(WaterChoice) optional,
        "\"given\": the added water of the lines; \"need\": what the dough is predicted to ask \
         for; \"given\" unless written, or as in the treatment it starts from";
    lines: lines(FORMULA_LINE, FormulaLineRow, MOST_LINES) optional, "the formula";
    changes: forms(CHANGES, ChangeRow, MOST_CHANGES) optional,
        "changes of the formula it starts from, in order";
    piece: table(PIECE, PieceRow) optional, "a piece of its own";
    process: table(PROCESS, ProcessRow) optional, "a process of its own";
    dough: table(DOUGH, DoughRow) optional, "a dough of its own";
    oven: table(OVEN, OvenRow) optional, "an oven or setting of its own";
    cooling: table(COOLING, CoolingRow) optional, "a cooling of its own";
    pack: table(PACK, PackRow) optional, "a pack of its own";
    line: table(LINE, LineRow) optional, "stations of its own";
    learned: table(LEARNED, LearnedRow) optional, "what was learned of its own, or `take_up = false`";
}

table! {
    /// A line of a formula.
    FORMULA_LINE, FormulaLineRow = "formula line", "A material, when it goes in, and how much of it.";
    material: material() required, "the material";
    stage: choice(Stage) optional, "when it goes in; as usual for its kind unless written";
    amount: number("", 0.0, 1e6) optional, "how much, on the basis of the treatment";
    balance: flag() optional, "true for the one line that takes up the rest to 100";
    flour: flag() optional, "whether it counts as flour; as usual for its kind unless written";
}

/// The forms of a change; the first key tells them apart.
pub static CHANGES: &[&Table] = &[&SWAP, &SET, &ADD, &REMOVE, &SCALE_WATER];

/// A change of a formula as written.
#[derive(Clone, Debug)]
pub enum ChangeRow<'a> {
    /// One material in place of another.
    Swap(SwapRow<'a>),
    /// The amount of a line.
    Set(SetRow<'a>),
    /// A new line.
    Add(AddRow<'a>),
    /// A line taken out.
    Remove(RemoveRow<'a>),
    /// More or less water.
    ScaleWater(ScaleWaterRow<'a>),
}

impl<'a> ChangeRow<'a> {
    /// What a row of one of the forms says.
    pub fn read(row: &'a Row) -> Option<Self> {
        let swap = || SwapRow::read(row).map(Self::Swap);
        let set = || SetRow::read(row).map(Self::Set);
        let add = || AddRow::read(row).map(Self::Add);
        let remove = || RemoveRow::read(row).map(Self::Remove);
        let water = || ScaleWaterRow::read(row).map(Self::ScaleWater);
        swap()
            .or_else(set)
            .or_else(add)
            .or_else(remove)
            .or_else(water)
    }

    /// The row as written.
    pub fn row(&self) -> &'a Row {
        match self {
            Self::Swap(change) => change.row,
            Self::Set(change) => change.row,
            Self::Add(change) => change.row,
            Self::Remove(change) => change.row,
            Self::ScaleWater(change) => change.row,
        }
    }

    /// The materials that it names.
    pub fn materials(&self) -> Vec<&'a str> {
        let (one, other) = match self {
            Self::Swap(change) => (change.swap.value, change.with.value),
            Self::Set(change) => (change.set.value, None),
            Self::Add(change) => (change.add.value, None),
            Self::Remove(change) => (change.remove.value, None),
            Self::ScaleWater(_) => (None, None),
        };
        one.into_iter().chain(other).collect()
    }
}

impl FromRow for ChangeRow<'static> {
    type Of<'a> = ChangeRow<'a>;
    fn from_row(row: &Row) -> Option<ChangeRow<'_>> {
        ChangeRow::read(row)
    }
}

table! {
    /// A swap.
    SWAP, SwapRow = "swap", "Puts one material in place of another.";
    swap: material() required, "the material that goes out";
    with: material() required, "the material that comes in";
    keep: choice(At) or_word("mass"), "what stays equal";
    share_pct: number("%", 0.01, 100.0) or(100.0), "how much of the line goes out";
}

table! {
    /// A new amount.
    SET, SetRow = "set", "Sets the amount of a line.";
    set: material() required, "the material";
    amount: number("", 0.0, 1e6) required, "the new amount";
    of: choice(AmountOf) optional, "what the amount is told on; as the treatment's percent_of unless written";
}

table! {
    /// A new line.
    ADD, AddRow = "add", "Adds a line.";
    add: material() required, "the material";
    amount: number("", 0.0, 1e6) required, "how much";
    of: choice(AmountOf) optional, "what the amount is told on; as the treatment's percent_of unless written";
    stage: choice(Stage) optional, "when it goes in; as usual for its kind unless written";
    flour: flag() optional, "whether it counts as flour; as usual for its kind unless written";
}

table! {
    /// A line taken out.
    REMOVE, RemoveRow = "remove", "Takes a line out.";
    remove: material() required, "the material";
}

table! {
    /// More or less water.
    SCALE_WATER, ScaleWaterRow = "scale_water",
        "Multiplies the added water; everything else keeps its proportions.";
    scale_water: number("", 0.0, 10.0) required, "factor";
}

/// What the amount of a change is told on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AmountOf {
    /// The whole mix.
    Mix,
    /// The flour.
    Flour,
    /// Any scale.
    Parts,
}

impl Word for AmountOf {
    fn all() -> Vec<Self> {
        vec![Self::Mix, Self::Flour, Self::Parts]
    }

    fn written(self) -> &'static str {
        match self {
            Self::Mix => "mix",
            Self::Flour => "flour",
            Self::Parts => "parts",
        }
    }
}

word! {
    Stage: Stage::word;
    Basis: Basis::written;
    WaterChoice: WaterChoice::written;
    // What is kept, without the "equal".
    At: |at| {
        let word = at.word();
        word.strip_prefix("equal ").unwrap_or(word)
    };
}
