//! The file as a whole, and what the study asks.

use super::{
    COOLING, CoolingRow, DOUGH, DoughRow, LEARNED, LIMIT, LINE, LearnedRow, LimitRow, LineRow,
    MATERIAL, MOST_LIMITS, MOST_MATERIALS, MOST_TREATMENTS, MaterialRow, NAME, NOTE, OVEN, OvenRow,
    PACK, PIECE, PROCESS, PackRow, PieceRow, ProcessRow, TREATMENT, TreatmentRow,
};
use crate::model::Place;
use crate::written::typed::table;
use crate::written::word::word;
use formula::Species;

table! {
    /// The whole file.
    ROOT, RootRow = "a study file", "What is baked, on what, and the treatments that are compared.";
    hardtack: whole(1.0, 1.0) required, "version of the written form; this one is 1";
    study: table(STUDY, StudyRow) required, "what the study asks";
    material: tables(MATERIAL, MaterialRow, MOST_MATERIALS) optional,
        "materials of your own, and values of yours for materials of the shelf";
    piece: table(PIECE, PieceRow) required, "the piece as cut";
    process: table(PROCESS, ProcessRow) optional, "how the dough is mixed and formed";
    dough: table(DOUGH, DoughRow) optional, "the dough as it comes to the oven";
    oven: table(OVEN, OvenRow) required, "the oven and its setting";
    cooling: table(COOLING, CoolingRow) optional, "cooling after the oven";
    pack: table(PACK, PackRow) optional, "the closed pack";
    line: table(LINE, LineRow) optional, "the stations beside the oven, and what they cost";
    learned: table(LEARNED, LearnedRow) optional, "what your own bakes and doughs taught";
    limits: tables(LIMIT, LimitRow, MOST_LIMITS) optional, "limits that every treatment has to keep";
    treatment: tables(TREATMENT, TreatmentRow, MOST_TREATMENTS) required,
        "the treatments; one of them is the control";
}

table! {
    /// What the study asks.
    STUDY, StudyRow = "study",
        "The question, whom the treat is for, and the moisture that the bake aims at.";
    name: text(NAME) required, "what the study is called";
    question: text(NOTE) optional, "what it wants to know";
    species: choice(Species) or_word("dog"),
        "the animal the treat is for; cautions and energy depend on it";
    control: treatment() required, "the treatment that the others are compared with";
    currency: text(3) or_word("EUR"), "currency of every price in the file, three letters";
    invented: flag() optional, "true when the data are made up; every report then says so";
    target: inline(TARGET, TargetRow) required, "the moisture that the bake aims at, and where";
    note: text(NOTE) optional, "anything else";
}

table! {
    /// The moisture target.
    TARGET, TargetRow = "target", "Water flashes off after the oven, so a target says where it holds.";
    moisture_pct: number("%", 1.0, 30.0) required, "mean moisture of the piece, wet basis";
    at: choice(Place) or_word("packed"), "where the moisture holds";
    kill_log10: number("log₁₀", 1.0, 12.0) optional,
        "log reduction of Salmonella that the bake has to be shown to reach at the least treated place; what is asked \
         for is a process authority's to say";
}

word! {
    Species: Species::word;
    Place: Place::written;
}
