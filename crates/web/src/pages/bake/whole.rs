//! The whole piece: what is asked of it, how far the work is, what it shows.

use super::zones::plain;
use crate::pages::InStudy;
use crate::pages::chosen::NONE;
use crate::pages::study::encoded;
use crate::shell::Room;
use ::study::Compared;
use ::study::views::whole_piece::dockers::DockerStudy;
use ::study::views::whole_piece::{EndTold, MapTold, PlaceTold, SolidAnswer};
use app::{App, AppError, Settings, SolidAnswered, SolidState, SolidWhat, StudyView};
use maud::{Markup, html};
use measure::Units;
use paper::chart::biscuit;
use paper::chart::solid::{HeatPicture, heat_pictures};
use paper::parts::findings;
use paper::{CRUST_DELTA_E, Ramp, number};
use serde_json::{Value, json};

/// The part of the bake page about the whole piece.
pub(super) async fn whole(
    page: &InStudy<'_>,
    here: &Compared,
    beside: Option<&Compared>,
) -> Result<Markup, AppError> {
    let about = About {
        treatment: &here.answer.id,
        beside: beside.map(|b| b.answer.id.as_str()),
    };
    section(page.app, page.view, page.settings, about).await
}

/// Whose piece is shown, and whose beside it.
#[derive(Clone, Copy)]
pub(super) struct About<'a> {
    pub treatment: &'a str,
    pub beside: Option<&'a str>,
}

impl<'a> About<'a> {
    /// The same in an address or a form; one that stands beside itself stands alone.
    pub fn of(treatment: &'a str, beside: Option<&'a str>) -> Self {
        Self {
            treatment,
            beside: beside.filter(|b| *b != treatment && *b != NONE),
        }
    }

    fn hidden(self) -> Markup {
        html! {
            input type="hidden" name="about" value=(self.treatment);
            input type="hidden" name="beside" value=(self.beside.unwrap_or(NONE));
        }
    }
}

/// A bake of a whole piece as it is shown: the best there is.
fn best<'a>(bake: &'a SolidState, preview: &'a SolidState) -> Option<(&'a SolidAnswer, SolidWhat)> {
    let found = match (bake, preview) {
        (SolidState::Done(a), _) => (a, SolidWhat::Bake),
        (_, SolidState::Done(a)) => (a, SolidWhat::Preview),
        _ => return None,
    };
    match found.0.as_ref() {
        SolidAnswered::Bake { answer, .. } => Some((answer, found.1)),
        SolidAnswered::Dockers(_) => None,
    }
}

pub(super) async fn section(
    app: &App,
    view: &StudyView,
    settings: &Settings,
    about: About<'_>,
) -> Result<Markup, AppError> {
    let units = settings.units;
    let treatment = about.treatment;
    let [preview, bake, dockers] = SolidWhat::ALL.map(|what| app.solid(view, treatment, what));
    let (preview, bake, dockers) = (preview?, bake?, dockers?);
    let other = match about.beside {
        None => None,
        Some(id) => {
            let state = |what| app.solid(view, id, what);
            Some((id, state(SolidWhat::Preview)?, state(SolidWhat::Bake)?))
        }
    };
    let running = [&preview, &bake, &dockers]
        .into_iter()
        .chain(other.iter().flat_map(|(_, preview, bake)| [preview, bake]))
        .any(|s| matches!(s, SolidState::Running(_)));
    let kept = match &bake {
        SolidState::Done(_) | SolidState::Running(_) => None,
        SolidState::NotAsked | SolidState::Failed(_) => app.kept_solid(view, treatment).await?,
    };
    let again = format!(
        "/study/{}/solid?treatment={}&beside={}",
        view.thing,
        encoded(treatment),
        encoded(about.beside.unwrap_or(NONE))
    );
    let shown = best(&bake, &preview);
    let beside = other
        .as_ref()
        .map(|(id, preview, bake)| (*id, best(bake, preview), [preview, bake]));
    Ok(html! {
        section .part .whole-piece #whole-piece data-again=(again) data-running[running] aria-label="The whole piece" {
            h2 { "The whole piece" }
            p .second {
                "The same heat and water in three dimensions, with the outline’s edges and the docker holes as walls. It takes seconds, so it runs when you ask for it; a change of the study makes the answer an old one."
            }
            (deeds(view, about, &[(SolidWhat::Preview, &preview), (SolidWhat::Bake, &bake), (SolidWhat::Dockers, &dockers)]))
            @for (state, what) in [(&preview, "first look"), (&bake, "bake"), (&dockers, "docker study")] {
                (working(view, about, treatment, state, what, &again))
            }
            @if let Some((form, same)) = &kept { (kept_words(form, *same, settings)) }
            @if let Some((answer, what)) = shown {
                (answer_of(view, settings, (answer, what), about, beside.as_ref()))
            }
            @if let SolidState::Done(answered) = &dockers {
                @if let SolidAnswered::Dockers(study) = answered.as_ref() { (tried(study, units)) }
            }
        }
    })
}

/// The other treatment: its short name, its bake if there is one, and how its questions stand.
type Other<'a> = (
    &'a str,
    Option<(&'a SolidAnswer, SolidWhat)>,
    [&'a SolidState; 2],
);

fn deeds(view: &StudyView, about: About<'_>, all: &[(SolidWhat, &SolidState)]) -> Markup {
    let name = |what: SolidWhat| match what {
        SolidWhat::Preview => "First look, coarse",
        SolidWhat::Bake => "Bake the whole piece",
        SolidWhat::Dockers => "Try docker holes",
    };
    html! {
        form .line .no-print method="post" action={ "/study/" (view.thing) "/solid" } data-solid {
            input type="hidden" name="treatment" value=(about.treatment);
            (about.hidden())
            @for (what, state) in all {
                button .main[*what == SolidWhat::Bake] name="what" value=(what.word())
                    disabled[matches!(state, SolidState::Running(_) | SolidState::Done(_))] { (name(*what)) }
            }
        }
    }
}

fn working(
    view: &StudyView,
    about: About<'_>,
    treatment: &str,
    state: &SolidState,
    what: &str,
    again: &str,
) -> Markup {
    match state {
        SolidState::Running(share) => {
            let percent = format!("{:.0} %", 100.0 * share);
            html! {
                div .working role="status" {
                    label { (what) " " progress max="1" value=(format!("{share:.3}")) { (percent) } " " (percent) }
                    form .no-print method="post" action={ "/study/" (view.thing) "/solid/stop" } data-solid {
                        input type="hidden" name="treatment" value=(treatment);
                        (about.hidden())
                        button { "Stop" }
                    }
                    a .no-print href=(again) data-without-script { "Look again" }
                }
            }
        }
        SolidState::Failed(why) => html! {
            ul .findings { li .finding .warn { span .weight { "caution" } div { p { "The " (what) " has no answer: " (why) } } } }
        },
        SolidState::NotAsked | SolidState::Done(_) => html! {},
    }
}

/// What the book keeps of an earlier bake.
fn kept_words(form: &Value, same: bool, settings: &Settings) -> Markup {
    let number = |name: &str| form["answer"][name].as_f64();
    let Some(minutes) = number("time_min") else {
        return html! {};
    };
    let when = form["when"].as_str().unwrap_or_default();
    html! {
        p .kept {
            "The book keeps a bake of " (settings.dates.written(when)) ": " b { (number::fixed(minutes, 1)) " min" } ". "
            @if same { "Its inputs are those of now; bake it again for the pictures." }
            @else { "The treatment, or the model, has changed since, so it is an old answer." }
        }
    }
}

fn signed(value: f64, places: usize) -> String {
    let text = number::fixed(value, places);
    if value > 0.0 {
        format!("+{text}")
    } else {
        text
    }
}

fn answer_of(
    view: &StudyView,
    settings: &Settings,
    (a, what): (&SolidAnswer, SolidWhat),
    about: About<'_>,
    beside: Option<&Other<'_>>,
) -> Markup {
    let units = settings.units;
    let exit = exit_of(a);
    html! {
        p .bake-time {
            b { (number::fixed(a.time_min, 1)) " min" }
            " in the oven" @if what == SolidWhat::Preview { ", coarse: good to a few per cent" }
            @if a.met == Some(false) { " – the target isn’t reached" }
        }
        (times(a))
        @if let Some(exit) = exit {
            (as_baked(view, a, exit, about, beside))
            div .whole-pictures {
                (moving(view, a, what, units))
                div .figures .still-maps { details .reason { summary { "The numbers as maps" } (maps(a, exit)) } }
            }
            (at_exit(a, exit, units))
            (wetter_than_the_dough(view, a, exit))
        }
        (correction(view, settings, a, what))
        (findings(&a.findings))
        p .second {
            "Grid: " (a.grid.nodes_in_full) " places in the whole piece, "
            @if a.grid.nodes < a.grid.nodes_in_full { (a.grid.nodes) " of them followed, the rest mirrored; " }
            (number::fixed(units.value(a.grid.step_mm[0], "mm"), units.decimals("mm", 1))) " " (units.unit("mm")) " in plan, " (a.grid.cells) " cells through the thickness. "
            "Accounts close to " (exponent(a.water_rel_error.max(a.energy_rel_error))) ". "
            "Model " (a.model_version) ", inputs " code { (a.inputs_sha256.chars().take(12).collect::<String>()) } "."
        }
    }
}

fn exponent(value: f64) -> String {
    format!("{value:.0e}")
}

/// The times side by side: what edges and holes do.
fn times(a: &SolidAnswer) -> Markup {
    let Some(c) = &a.correction else {
        return html! {};
    };
    let against = |minutes: f64| format!("{} %", signed(c.longer_pct(minutes), 1));
    html! {
        table .solid-times {
            caption .unseen { "Time in the oven to the target" }
            thead { tr { th scope="col" { "time to the target" } th .figure scope="col" { "min" } th .figure scope="col" { "the whole piece against it" } } }
            tbody {
                tr { th scope="row" { "whole piece" } td .figure { b { (number::fixed(c.solid_min, 1)) } } td {} }
                @if let Some(minutes) = a.without_holes_min {
                    tr { th scope="row" { "the same without docker holes" } td .figure { (number::fixed(minutes, 1)) } td .figure { (against(minutes)) } }
                }
                tr { th scope="row" { "quick answer, through the thickness with its edge correction" } td .figure { (number::fixed(c.corrected_min, 1)) } td .figure { (against(c.corrected_min)) } }
                tr { th scope="row" { "endless slab" } td .figure { (number::fixed(c.slab_min, 1)) } td .figure { (against(c.slab_min)) } }
            }
        }
    }
}

/// What a script draws: plan and section through time, with probes.
fn moving(view: &StudyView, a: &SolidAnswer, what: SolidWhat, units: Units) -> Markup {
    let source = format!(
        "/study/{}/solid/frames?treatment={}&what={}",
        view.thing,
        encoded(&a.id),
        what.word()
    );
    let unit = units.unit("mm");
    let study = view.study.as_deref();
    let seen = study
        .and_then(|s| s.treatment(&a.id))
        .map_or(Value::Null, |t| json!(app::seen_from_above(t)));
    let zones: Vec<(&str, f64)> = a
        .ends
        .iter()
        .map(|e| (e.name.as_str(), e.time_min))
        .collect();
    let zones = json!(zones);
    html! {
        div .solid-view #solid-view hidden data-frames=(source) data-bake-min=(format!("{:.4}", a.time_min)) data-seen=(seen) data-zones=(zones) {
            div .clock {
                button #solid-play type="button" aria-pressed="false" { "Play" }
                label .slider { span .unseen { "time in the bake of the whole piece, min" } input #solid-time type="range" min="0" max="1000" step="1" value="0"; }
                output #solid-moment for="solid-time" {}
            }
            fieldset .what {
                legend .unseen { "What the pictures of the whole piece show" }
                label { input type="radio" name="solid-what" value="c" checked; "temperature" }
                label { input type="radio" name="solid-what" value="moisture_pct"; "moisture" }
            }
            figure { figcaption { "Seen from above, half way up; a click places a probe" } canvas #solid-plan role="img" aria-label="Plan of the piece half way up" {} }
            figure { figcaption { "Cut along its length" } canvas #solid-section role="img" aria-label="Section of the piece" {} }
            canvas .scale #solid-scale role="img" aria-label="Scale of the pictures" {}
            form .line #solid-probe .no-print {
                span { "Probe, from the middle of the piece:" }
                label { "along, " (unit) " " input name="x" inputmode="decimal" size="5" aria-label={ "along the piece, " (unit) }; }
                label { "across, " (unit) " " input name="y" inputmode="decimal" size="5" aria-label={ "across the piece, " (unit) }; }
                button { "Place a probe" }
                button type="button" #solid-clear { "Take all away" }
            }
            table #solid-probes hidden {
                caption .unseen { "Probes at the moment of the slider" }
                thead { tr { th scope="col" { "probe" } th .figure scope="col" { "along, " (unit) } th .figure scope="col" { "across, " (unit) } th .figure scope="col" { (units.unit("°C")) } th .figure scope="col" { "moisture, %" } } }
                tbody {}
            }
        }
    }
}

/// A map at the oven’s exit. Crusts are drawn as they look, from raw dough on: up to `crust`, so that two bakes can be
/// compared by eye.
fn picture(title: &str, map: &MapTold, ramp: Ramp, unit: &'static str, crust: f64) -> HeatPicture {
    HeatPicture {
        title: title.to_owned(),
        points: map.points,
        step_mm: map.step_mm,
        values: map.values.clone(),
        ramp,
        range: (ramp == Ramp::Crust).then_some((0.0, crust)),
        unit,
    }
}

fn exit_of(a: &SolidAnswer) -> Option<&EndTold> {
    a.ends.iter().rfind(|e| e.oven).or(a.ends.last())
}

/// The piece as it comes out of the oven: outline, holes, crust; beside it another treatment's in the same colours.
fn as_baked(
    view: &StudyView,
    a: &SolidAnswer,
    exit: &EndTold,
    about: About<'_>,
    beside: Option<&Other<'_>>,
) -> Markup {
    let other = beside.and_then(|(_, best, _)| *best);
    let other_exit = other.and_then(|(b, _)| Some((b, exit_of(b)?)));
    let crust = [Some(exit), other_exit.map(|(_, e)| e)]
        .into_iter()
        .flatten()
        .fold(CRUST_DELTA_E, |most, e| most.max(e.colour_most_delta_e));
    let choices = view
        .answers
        .compared
        .iter()
        .filter(|c| c.answer.id != a.id)
        .map(|c| (&c.answer.id, &c.answer.name));
    let choices: Vec<_> = choices.collect();
    html! {
        div .biscuits-head {
            p .second { "As they leave the oven, at their true size, all in the same colours: a crust twice as far from raw dough is drawn twice as far along." }
            @if !choices.is_empty() {
                form .line .no-print method="get" action={ (Room::Bake.address(&view.thing)) "#whole-piece" } {
                    input type="hidden" name="treatment" value=(a.id);
                    label { "beside it "
                        select name="beside" data-goes aria-label="The piece beside it" {
                            option value=(NONE) { "nothing" }
                            @for (id, name) in &choices { option value=(id) selected[about.beside == Some(id.as_str())] { (name) } }
                        }
                    }
                    button data-without-script { "Show" }
                }
            }
        }
        div .biscuits {
            (one_baked(view, a, exit, crust))
            @if let Some((b, exit)) = other_exit { (one_baked(view, b, exit, crust)) }
            @if let Some((id, None, states)) = beside { (not_yet(view, about, id, states)) }
        }
    }
}

fn one_baked(view: &StudyView, a: &SolidAnswer, exit: &EndTold, crust: f64) -> Markup {
    let study = view.study.as_deref();
    let Some(treatment) = study.and_then(|s| s.treatment(&a.id)) else {
        return html! {};
    };
    let seen = app::seen_from_above(treatment);
    let picture = picture("", &exit.colour_map, Ramp::Crust, "", crust);
    let said = format!("{} as it comes out of the oven, seen from above", a.name);
    html! {
        figure .baked data-most=(format!("{crust:.1}")) {
            (biscuit(&a.id, &said, &picture, &seen.outline_mm, &seen.holes_mm, seen.hole_radius_mm))
            figcaption {
                b { (a.name) } br;
                (number::fixed(a.time_min, 1)) " min, " (number::fixed(exit.moisture_pct, 1)) " % water" br;
                "crust ΔE " (number::fixed(exit.colour_mean_delta_e, 1)) ", most " (number::fixed(exit.colour_most_delta_e, 1))
            }
        }
    }
}

/// The other treatment while it has no bake of its whole piece.
fn not_yet(view: &StudyView, about: About<'_>, id: &str, states: &[&SolidState; 2]) -> Markup {
    let name = view
        .answers
        .compared
        .iter()
        .find(|c| c.answer.id == id)
        .map_or(id, |c| c.answer.name.as_str());
    let again = format!(
        "/study/{}/solid?treatment={}&beside={}",
        view.thing,
        encoded(about.treatment),
        encoded(id)
    );
    let running = states.iter().any(|s| matches!(s, SolidState::Running(_)));
    html! {
        div .baked .not-yet {
            p { b { (name) } @if !running { " isn’t baked as a whole piece yet." } }
            @for (state, what) in states.iter().zip(["first look", "bake"]) { (working(view, about, id, state, what, &again)) }
            @if !running {
                form .line .no-print method="post" action={ "/study/" (view.thing) "/solid" } data-solid {
                    input type="hidden" name="treatment" value=(id);
                    (about.hidden())
                    button .main name="what" value=(SolidWhat::Bake.word()) { "Bake it too" }
                    button name="what" value=(SolidWhat::Preview.word()) { "First look, coarse" }
                }
            }
        }
    }
}

/// Least excess over the dough's moisture that is told, points: what is shown to one decimal.
const WETTER_POINTS: f64 = 0.05;

/// Why a place is wetter than the dough went in, where one is or was on the way.
fn wetter_than_the_dough(view: &StudyView, a: &SolidAnswer, exit: &EndTold) -> Markup {
    let dough = view.answers.compared.iter().find(|c| c.answer.id == a.id);
    let Some(dough_pct) = dough.map(|c| c.answer.dough.moisture_pct) else {
        return html! {};
    };
    let over = |pct: f64| pct - dough_pct >= WETTER_POINTS;
    let history = a.time_history_min.iter().zip(&a.wettest_history_pct);
    let most = history
        .filter(|(t, _)| **t <= a.time_min)
        .max_by(|x, y| x.1.total_cmp(y.1));
    let at_exit = over(exit.wettest.moisture_pct);
    let on_the_way = most.filter(|(_, pct)| over(**pct));
    html! {
        @if at_exit || on_the_way.is_some() {
            p .wetter {
                @if at_exit { "The wettest place leaves the oven wetter than the dough went in (" (number::fixed(dough_pct, 1)) " %). " }
                @else if let Some((minutes, pct)) = on_the_way {
                    "On the way one place was wetter than the dough went in: " (number::fixed(*pct, 1)) " % after " (number::fixed(*minutes, 1)) " min, against " (number::fixed(dough_pct, 1)) " %. "
                }
                "That is no fault of the figures: water turns to vapour where the piece is hot, and part of the vapour moves inward and condenses where it is still colder. The water as a whole only gets less; that place dries last."
            }
        }
    }
}

/// Maps at the oven’s exit, to scale.
fn maps(a: &SolidAnswer, exit: &EndTold) -> Markup {
    let crust = exit.colour_most_delta_e.max(CRUST_DELTA_E);
    heat_pictures(
        &format!("{} at the oven’s exit, seen from above", a.name),
        &[
            picture(
                "Moisture, mean through the thickness",
                &exit.moisture_map,
                Ramp::Moisture,
                "%",
                crust,
            ),
            picture(
                "Colour of the top, ΔE from raw dough",
                &exit.colour_map,
                Ramp::Crust,
                "",
                crust,
            ),
        ],
    )
}

fn at_exit(a: &SolidAnswer, exit: &EndTold, units: Units) -> Markup {
    let place = |p: &PlaceTold| {
        let mm = |v: f64| number::fixed(units.value(v, "mm"), units.decimals("mm", 1));
        format!(
            "{} along, {} across, {} {} over the band",
            mm(p.x_mm),
            mm(p.y_mm),
            mm(p.z_mm),
            units.unit("mm")
        )
    };
    let points = "points of moisture";
    html! {
        table .solid-exit {
            caption { "As it leaves the oven (calculated)" }
            tbody {
                (row("mean moisture", &number::fixed(exit.moisture_pct, 1), "%", ""))
                (row("centre less outer edge", &signed(exit.centre_edge_points, 1), points, "uneven in plan"))
                (row("half way up less top and bottom", &signed(exit.middle_surface_points, 1), points, "uneven through the thickness"))
                (row("wettest place", &number::fixed(exit.wettest.moisture_pct, 1), "%", &place(&exit.wettest)))
                (row("driest place", &number::fixed(exit.driest.moisture_pct, 1), "%", &place(&exit.driest)))
                (row("colour of the top, ΔE", &format!("{}, most {}", number::fixed(exit.colour_mean_delta_e, 1), number::fixed(exit.colour_most_delta_e, 1)), "", ""))
                @match a.last_place_hot_min {
                    Some(minutes) => (row(&format!("the last place passes {} {}", number::fixed(units.value(90.0, "°C"), 0), units.unit("°C")), &number::fixed(minutes, 1), "min", "")),
                    None => (row(&format!("the last place passes {} {}", number::fixed(units.value(90.0, "°C"), 0), units.unit("°C")), "never", "", "a place stays colder all the way")),
                }
                (row("least kill", &exit.kill_shown, "", &format!("{}; a hint, not a validated kill step", place(&exit.kill_least_at))))
            }
        }
    }
}

fn row(name: &str, value: &str, unit: &str, words: &str) -> Markup {
    html! { tr { th scope="row" { (name) } td .figure { (value) } td .unit { (unit) } td .words { (words) } } }
}

/// The quick answer's correction, fitted to this bake, to be taken into the study.
fn correction(view: &StudyView, settings: &Settings, a: &SolidAnswer, what: SolidWhat) -> Markup {
    let Some(c) = a.correction.filter(|_| what == SolidWhat::Bake) else {
        return html! {};
    };
    let off = c.quick_off_pct();
    html! {
        h3 { "What the quick answer learns from it" }
        @match c.edge_path_share {
            Some(share) => {
                p { "The quick answer is " (signed(off, 1)) " % off for this treatment. With an inner path of the edge of "
                    b { (format!("{share:.2}")) } " of area over perimeter it needs the same " (number::fixed(c.solid_min, 1))
                    " min. It then stands for this outline with these holes; how far it holds for another treatment its own bake of the whole piece tells." }
                form .line .no-print method="post" action={ "/study/" (view.thing) "/edit" } {
                    (crate::shell::seen(view))
                    input type="hidden" name="room" value=(Room::Bake.word());
                    input type="hidden" name="q.treatment" value=(a.id);
                    input type="hidden" name="edit" value="set_field";
                    input type="hidden" name="path" value="piece.edge_path_share";
                    input type="hidden" name="value" value=(plain(share, settings));
                    button { "Correct the quick answers of this study so" }
                }
            }
            None => p { "The quick answer is " (signed(off, 1)) " % off, and no inner path of the edge within its range makes up for it: take the time of the whole piece." }
        }
    }
}

fn tried(study: &DockerStudy, units: Units) -> Markup {
    let cell = |v: Option<f64>, places: usize| {
        v.map_or_else(|| "–".to_owned(), |v| number::fixed(v, places))
    };
    let change = |v: Option<f64>| v.map_or_else(|| "–".to_owned(), |v| signed(v, 1));
    html! {
        h3 { "Docker holes tried" }
        @if let Some(best) = study.tried.get(study.recommended) {
            p { b {
                @if best.count == 0 { "No holes" } @else { (best.count) " holes of " (number::fixed(units.value(best.diameter_mm, "mm"), units.decimals("mm", 1))) " " (units.unit("mm")) }
            } " fit best. " (study.reasons.join(" ")) }
        }
        div .scroll {
            table .dockers-tried {
                caption .unseen { "Numbers of holes and diameters, each at its own time to the target" }
                thead { tr {
                    th .figure scope="col" { "holes" } th .figure scope="col" { "diameter, " (units.unit("mm")) }
                    th .figure scope="col" { "bake, min" } th .figure scope="col" { "pieces an hour, %" } th .figure scope="col" { "mass an hour, %" }
                    th .figure scope="col" { "wettest less driest, points" } th .figure scope="col" { "checking index" } th scope="col" { "rules of the trade (common practice)" }
                } }
                tbody {
                    @for (i, t) in study.tried.iter().enumerate() {
                        tr .recommended[i == study.recommended] {
                            th .figure scope="row" { (t.count) @if i == study.recommended { span .unseen { " (recommended)" } } }
                            td .figure { @if t.count > 0 { (number::fixed(units.value(t.diameter_mm, "mm"), units.decimals("mm", 1))) } }
                            @match &t.cannot {
                                Some(why) => td colspan="5" .second { (why) },
                                None => {
                                    td .figure { (cell(t.time_min, 1)) }
                                    td .figure { (change(t.pieces_per_h_change_pct)) }
                                    td .figure { (change(t.kg_per_h_change_pct)) }
                                    td .figure { (cell(t.unevenness_points, 1)) }
                                    td .figure { (cell(t.checking_index, 2)) }
                                }
                            }
                            td .words { (t.rules.join("; ")) }
                        }
                    }
                }
            }
        }
        p .second { "The checking index is uncalibrated: compare rows only." }
    }
}
