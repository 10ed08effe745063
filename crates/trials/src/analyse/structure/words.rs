//! The words by which columns are known.

pub(super) const TREATMENT: [&str; 4] = ["treatment", "treat", "group", "trt"];
pub(super) const BLOCK: [&str; 12] = [
    "block", "blk", "day", "bake_day", "bakeday", "date", "session", "panel", "week", "loc",
    "operator", "shift",
];
/// Block words that may also say when the same unit was measured again.
pub(super) const DAY: [&str; 3] = ["day", "date", "week"];
/// Words that only say when a unit was measured.
pub(super) const TIME: [&str; 22] = [
    "time",
    "time_point",
    "timepoint",
    "hour",
    "hours",
    "minute",
    "minutes",
    "month",
    "months",
    "days",
    "weeks",
    "storage",
    "storage_day",
    "storage_days",
    "storage_week",
    "storage_time",
    "day_after_baking",
    "days_after_baking",
    "age",
    "age_days",
    "visit",
    "test_day",
];
pub(super) const PERIOD: [&str; 2] = ["period", "feeding_period"];
pub(super) const SEQUENCE: [&str; 2] = ["sequence", "order_of_foods"];
pub(super) const EXPOSURE: [&str; 3] = ["exposure", "looked_at", "area_looked_at"];
pub(super) const ROW: [&str; 4] = ["row", "rowpos", "row_pos", "line"];
pub(super) const COLUMN: [&str; 4] = ["col", "column", "colpos", "col_pos"];
pub(super) const REPEATED: [&str; 9] = [
    "dog",
    "subject",
    "animal",
    "id",
    "herd",
    "participant",
    "judge",
    "assessor",
    "cat",
];
pub(super) const UNIT: [&str; 12] = [
    "batch",
    "mix",
    "bake",
    "lot",
    "dough",
    "plot",
    "unit",
    "oven_load",
    "load",
    "run",
    "experimental_unit",
    "wholeplot",
];
pub(super) const PIECE: [&str; 10] = [
    "piece",
    "biscuit",
    "sample",
    "subsample",
    "specimen",
    "aliquot",
    "measurement",
    "reading",
    "pieces",
    "treat_piece",
];
pub(super) const ASIDE: [&str; 20] = [
    "time",
    "order",
    "run_order",
    "note",
    "notes",
    "comment",
    "comments",
    "remark",
    "remarks",
    "rep",
    "replicate",
    "repeat",
    "operator_note",
    "row_number",
    "seed",
    "algorithm",
    "roles",
    "set_aside",
    "seq",
    "replication",
];

pub(super) fn plain(name: &str) -> String {
    let name = name.trim().to_lowercase().replace([' ', '-', '.'], "_");
    for ending in ["_id", "_no", "_nr", "_number", "_name"] {
        if let Some(stem) = name.strip_suffix(ending)
            && !stem.is_empty()
        {
            return stem.to_string();
        }
    }
    name
}

pub(super) fn is(name: &str, list: &[&str]) -> bool {
    list.contains(&plain(name).as_str())
}
