//! The bench day: what was planned, what was done and measured, and what it comes to.
//!
//! Knows trials, batches, and the rows that are written at the bench. Must not know any file, clock,
//! database, screen or HTML: rows come in as they are kept, and every answer is worked out from them.
//!
//! A [`Trial`] asks a question of a study's treatments and holds the runs that were drawn for it. A
//! [`Batch`] is one mixing of one treatment. What happens to it is a list of [`Entry`] rows that only
//! grows; [`fold`] makes of them what a page shows, and [`measured`] what the statistics take.

mod batch;
mod bend_curves;
mod beside;
mod code;
mod count;
pub mod demonstration;
mod done;
mod dose;
mod doubt;
mod entry;
mod fold;
mod form;
mod grid;
mod learn;
mod measure_asked;
mod measured;
mod moment;
pub mod observe;
mod on_line;
mod oven_rows;
mod panel;
mod part;
mod plan;
mod probe_curve;
mod probe_kept;
mod probe_log;
mod standing;
mod state;
mod trial;
mod unit;
mod what;
pub mod wish;

pub use batch::{Batch, Drinks, FORM_VERSION as BATCH_FORM_VERSION, Place, Setting};
pub use bend_curves::{BendCurve, bend_curves, bend_table};
pub use beside::{Beside, MEASURED, Says, beside, mean_and_interval, of_figure, says};
pub use code::Code;
pub use count::Counts;
pub use done::{Done, Made, done, done_of};
pub use dose::{NeedOfBatch, TAP_SHARE, masses_kg, need_of, tap_doses_g};
pub use doubt::{Doubt, doubts};
pub use entry::Entry;
pub use fold::fold;
pub use form::{FormError, read_form, write_form};
pub use grid::{GridCell, GridRow, Typed, grid, observe_typed};
pub use learn::{
    Advice, BETWEEN_CUTTINGS, Belief, LearnError, WaterTaught, WholeTaught, advise, belief,
    water_taught, whole, whole_believed, whole_taught,
};
pub use measure_asked::Asked;
pub use measured::{Reading, Sheet, is_measured, measured, readings, tidy};
pub use on_line::{
    ENOUGH_SAMPLES, GiveAway, OnLine, Position, Rule, Sample, Shown, give_away, on_line,
};
pub use oven_rows::{
    LeftOut, LeftOutBecause, OvenReading, OvenReadings, OvenRow, TRAYS_MAY_DIFFER, oven_rows,
    oven_table,
};
pub use panel::{ranking_sheet, two_bowl_sheet};
pub use part::{On, OnError, Part};
pub use plan::{More, PlanKept, code_of, trial_of};
pub use probe_curve::{
    LONGEST_BYTES as CURVE_LIMIT_BYTES, ProbeCurve, ProbeReading, THINNED_TO_S, read_curve,
    thinned, write_curve,
};
pub use probe_kept::{ProbeOf, ProbeRows, probe_rows};
pub use probe_log::{FAR, FAST, LogProbe, LogUnits, PLAUSIBLE_C, ProbeLog, probe_log};
pub use standing::{Standing, closed};
pub use state::{BatchState, Dose, Feel, Kept, Load, Mark, Signed, Struck, Told, Value, Water};
pub use trial::{
    Change, Changed, FORM_VERSION as TRIAL_FORM_VERSION, FactorOf, Pinned, Planned, Trial,
};
pub use unit::{UnitError, in_unit, units_of};
pub use what::{About, Nature, Station, What};
