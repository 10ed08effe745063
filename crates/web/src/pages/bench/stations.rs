//! What is entered at each station of a batch, taken from the one list of what is written at the bench.

use super::field::{Field, Page};
use app::AtBench;
use bench::{
    Asked, Load, Nature, NeedOfBatch, Part, Station, What, masses_kg, need_of, tap_doses_g, whole,
};
use formula::batch::BatchLine;
use maud::{Markup, html};
use paper::number;
use trials::response::{Kind, Response};

/// A batch at one of its stations.
pub(crate) struct At<'a> {
    pub(crate) page: Page<'a>,
    pub(crate) here: &'a AtBench,
    /// What to weigh; only looked up where it is weighed.
    pub(crate) weigh: &'a [BatchLine],
    /// Which material or pull is up.
    pub(crate) chosen: Option<&'a str>,
}

/// Every field of a station: what the page shows and what it takes.
pub(crate) fn fields(at: &At<'_>, station: Station) -> Vec<Field> {
    let all = What::ALL.into_iter();
    all.filter(|w| w.about().station == station)
        .flat_map(|what| of_what(at, what))
        .collect()
}

fn of_what(at: &At<'_>, what: What) -> Vec<Field> {
    let state = &at.here.made.state;
    let one = Field::new(what);
    let next = |what: What| state.of(what).filter_map(|v| v.on.get(Part::Piece)).count() + 1;
    match what {
        What::Weighed | What::Lot => {
            let Some(line) = up(at) else {
                return if what == What::Lot {
                    Vec::new()
                } else {
                    vec![one.typed("")]
                };
            };
            let label = match what {
                What::Lot => format!("lot of {}", line.name),
                _ if line.weighed_kg < 1.0 => format!(
                    "{}: {} g",
                    line.name,
                    number::plain((1000.0 * line.weighed_kg).round())
                ),
                _ => format!(
                    "{}: {} kg",
                    line.name,
                    number::fixed(line.weighed_kg, 3)
                        .replace('.', &at.page.settings.decimal.mark().to_string())
                ),
            };
            let usual = if line.weighed_kg < 1.0 { "g" } else { "kg" };
            vec![one.called(label).of(&line.material).usually_in(usual)]
        }
        What::Dose => vec![one.called("other dose").usually_in("g")],
        What::Ice | What::Scrap => vec![one.usually_in("g")],
        What::OvenSet | What::OvenRead => vec![one.typed("oven")],
        What::OvenIn => vec![
            one.called("Tray in")
                .typed((state.loads.len() + 1).to_string()),
        ],
        What::PulledAfter
        | What::PulledPieces
        | What::MassBefore
        | What::MassAfter
        | What::PulledTemperature => {
            vec![one.of(pull(at))]
        }
        What::Moisture => {
            let methods = Response::ALL.into_iter().map(Response::about);
            let methods = methods.filter(|a| {
                What::Moisture.response(Some(a.id)).is_some() && a.id.starts_with("moisture")
            });
            vec![
                one.one_of(
                    methods
                        .map(|a| (a.id.to_owned(), a.name.to_owned()))
                        .collect(),
                ),
            ]
        }
        What::CooledMass | What::Length | What::Width | What::Thickness | What::BendForce => {
            let n = next(what);
            vec![one.on(Part::Piece.word(), n)]
        }
        What::Observed => own(at)
            .map(|asked| {
                let n = state
                    .of(what)
                    .filter(|v| v.of.as_deref() == Some(&asked.id))
                    .count()
                    + 1;
                let field = Field::new(what).called(told(asked, n)).of(&asked.id).asked(
                    &asked.unit,
                    asked.low,
                    asked.high,
                );
                if asked.repeats > 1 {
                    field.on(Part::Piece.word(), n)
                } else {
                    field
                }
            })
            .collect(),
        What::ObservedOf => own(at)
            .filter(|asked| asked.kind == Kind::CountOf)
            .map(|asked| {
                Field::new(what)
                    .called(format!("{}: out of", asked.name))
                    .of(&asked.id)
            })
            .collect(),
        // These stand beside the row or button they belong to.
        What::Photograph
        | What::SetAside
        | What::Signed
        | What::OvenOut
        | What::DoughRight
        | What::Feel => Vec::new(),
        _ if what.about().nature == Nature::Count => Vec::new(),
        _ => vec![one],
    }
}

fn told(asked: &Asked, n: usize) -> String {
    match asked.repeats {
        0 | 1 => asked.name.clone(),
        of => format!("{} ({n} of {of})", asked.name),
    }
}

/// Responses that have no station of their own and don't follow from other rows.
fn own<'a>(at: &At<'a>) -> impl Iterator<Item = &'a Asked> {
    at.here.made.batch.responses.iter().filter(|asked| {
        let elsewhere = What::ALL
            .into_iter()
            .filter_map(|w| w.response(Some(&asked.id)));
        let follows = [
            Response::WholeAtCutting,
            Response::WaterDose,
            Response::BakeLoss,
        ];
        asked.known().is_none_or(|known| {
            !follows.contains(&known) && !elsewhere.into_iter().any(|r| r == known)
        })
    })
}

/// The material that is up: the one that was chosen, else the first that isn't weighed.
fn up<'a>(at: &At<'a>) -> Option<&'a BatchLine> {
    let weighed = |line: &&BatchLine| {
        at.here
            .made
            .state
            .of(What::Weighed)
            .any(|v| v.of.as_deref() == Some(&line.material))
    };
    let chosen = at
        .chosen
        .and_then(|of| at.weigh.iter().find(|l| l.material == of));
    chosen.or_else(|| at.weigh.iter().find(|l| !weighed(l)))
}

/// The pull that is up: the one that was chosen, else the last one that lacks its mass after, else the next.
fn pull(at: &At<'_>) -> String {
    if let Some(chosen) = at.chosen {
        return chosen.to_owned();
    }
    let state = &at.here.made.state;
    let pulls = |what: What| {
        state
            .of(what)
            .filter_map(|v| v.of.as_deref())
            .collect::<std::collections::BTreeSet<_>>()
    };
    let begun = pulls(What::PulledAfter);
    let whole = pulls(What::MassAfter);
    let open = begun.iter().find(|p| !whole.contains(*p));
    open.map_or_else(|| (begun.len() + 1).to_string(), |p| (*p).to_owned())
}

/// The station as it stands on the screen: what it shows, then its fields.
pub(crate) fn body(at: &At<'_>, station: Station) -> Markup {
    let forms = html! { @for field in fields(at, station) { (field.form(&at.page)) } };
    match station {
        Station::Weigh => html! { (forms) (weigh_list(at)) },
        Station::Water => html! { (water(at)) (forms) },
        Station::Cut => html! { (cut(at)) (forms) },
        Station::Oven => {
            let all = fields(at, station);
            let rank = |field: &Field| match field.what() {
                What::OvenIn => 0,
                what => 1 + u8::from(what.about().of == What::PulledAfter.about().of),
            };
            let of = |wanted| html! { @for field in all.iter().filter(|f| rank(f) == wanted) { (field.form(&at.page)) } };
            html! { (trays(at)) (of(0)) h2 { "Pull " (pull(at)) } (of(2)) h2 { "The oven" } (of(1)) }
        }
        Station::Sheet => html! { (forms) (sign(at)) },
        _ => forms,
    }
}

fn weigh_list(at: &At<'_>) -> Markup {
    let state = &at.here.made.state;
    let mark = at.page.settings.decimal.mark().to_string();
    let kg = |kg: f64| number::fixed(kg, 3).replace('.', &mark);
    let weighed = |line: &BatchLine| {
        state
            .of(What::Weighed)
            .filter(|v| v.of.as_deref() == Some(&line.material))
            .last()
    };
    let wanted: f64 = at.weigh.iter().map(|l| l.weighed_kg).sum();
    let done: f64 = at.weigh.iter().filter_map(weighed).map(|v| v.value).sum();
    let up = up(at).map(|l| l.material.as_str());
    html! {
        @if at.weigh.is_empty() {
            p { "The plan of this batch doesn’t tell how much dough it is. Name each material and what was weighed." }
        } @else {
            table .to-weigh {
                thead { tr { th scope="col" { "material" } th .figure scope="col" { "weigh, kg" } th .figure scope="col" { "weighed" } } }
                tbody { @for line in at.weigh {
                    tr aria-current=[(up == Some(line.material.as_str())).then_some("true")] {
                        th scope="row" { a href=(format!("{}?of={}", at.page.to, crate::pages::study::encoded(&line.material))) { (line.name) } }
                        td .figure { (kg(line.weighed_kg)) }
                        td .figure { @match weighed(line) { Some(v) => (kg(v.value)), None => "–" } }
                    }
                } }
                tfoot { tr { th scope="row" { "all but the water" } td .figure { (kg(wanted)) } td .figure { (kg(done)) } } }
            }
        }
    }
}

fn water(at: &At<'_>) -> Markup {
    let (here, page) = (at.here, &at.page);
    let (batch, water) = (&here.made.batch, &here.made.state.water);
    let mark = page.settings.decimal.mark().to_string();
    let told = |x: f64, places| number::fixed(x, places).replace('.', &mark);
    let need = here
        .belief
        .as_ref()
        .map(|b| (need_of(batch, &here.made.state, b), b.taken));
    let tap = |g: f64| (number::plain(g), format!("+{} g", number::plain(g)));
    let mut taps: Vec<(String, String)> = tap_doses_g(batch).map(tap).to_vec();
    if let Some(advice) = &here.advice {
        let g = advice.add_g();
        taps.insert(
            0,
            (
                number::plain(g),
                format!("+{} g, as advised", number::plain(g)),
            ),
        );
    }
    let masses: serde_json::Value = masses_kg().into_iter().collect();
    let feel: Vec<(String, String)> = (1..=5).map(|n| (n.to_string(), n.to_string())).collect();
    html! {
        p .total { output data-sum="dose" data-units=(masses.to_string()) data-kept=(water.total_kg) data-places="3" { (told(water.total_kg, 3)) } " kg of water"
            @if let Some((mean, (low, high))) = need.and_then(|(n, _)| n.kg) {
                " of about " (told(mean, 3)) " (" (told(low, 3)) " to " (told(high, 3)) ")"
            }
        }
        p .second {
            @match water.per_100kg { Some(w) => { (told(w, 1)) " kg per 100 kg of dry mix" } None => "No dose yet" }
            @if let Some(share) = need.and_then(|(n, _)| n.share) { ", " (told(100.0 * share, 0)) " % of the need" }
            ". "
            @if let Some((NeedOfBatch { per_100kg: (mean, (low, high)), .. }, taken)) = need {
                "The need is believed to be " (told(mean, 1)) " (" (told(low, 1)) " to " (told(high, 1)) ")"
                @if taken > 0 { ", learned from " (taken) @if taken == 1 { " batch" } @else { " batches" } } "."
            }
        }
        @if let Some(right) = &water.right { p .second { "The dough was called right by " (right.who) ", " (page.settings.dates.written(&right.at)) "." } }
        (Field::new(What::Dose).usually_in("g").taps(page, &taps))
        @if let Some(last) = water.doses.last() { p .timer { "stands since the last dose: " span data-since=(last.told.at) { (page.settings.dates.written(&last.told.at)) } } }
        div .feel { span { "crumbly" } (Field::new(What::Feel).taps(page, &feel)) span { "sticky" } }
        @if water.right.is_none() { (Field::new(What::DoughRight).called("This dough is right").form(page)) }
    }
}

fn cut(at: &At<'_>) -> Markup {
    let state = &at.here.made.state;
    let counts = state.counts;
    let steps = [("1", "+1"), ("5", "+5"), ("-1", "−1")].map(|(v, s)| (v.to_owned(), s.to_owned()));
    let so_far = |what: What| match what {
        What::Cut => counts.cut.unwrap_or(0),
        What::CutWhole => counts.whole,
        What::CutBroken => counts.broken,
        _ => counts.stuck,
    };
    let counted = What::ALL
        .into_iter()
        .filter(|w| w.about().nature == Nature::Count);
    // What became of the pieces first; how many were cut is counted by itself only where somebody wants to.
    let (cut, fates): (Vec<What>, Vec<What>) = counted.partition(|w| *w == What::Cut);
    html! {
        @for what in fates.into_iter().chain(cut) {
            div .counter {
                span .word { (what.about().label) }
                output data-sum=(what.about().word) data-kept=(so_far(what)) data-places="0" { (so_far(what)) }
                (Field::new(what).taps(&at.page, &steps))
            }
        }
        @if counts.out_of() > 0 && let Ok(p) = whole(state) {
            p .total { "A piece leaves whole: " (number::interval_to(p.probability, p.low95, p.high95, 2)) }
            p .second { (counts.left_whole()) " of " (counts.out_of()) " so far, with what is believed of doughs; 95 % interval." }
        }
    }
}

fn trays(at: &At<'_>) -> Markup {
    let state = &at.here.made.state;
    let within = |l: &&Load| l.entered.is_some() && l.left.is_none();
    html! {
        @for load in state.loads.iter().filter(within) {
            @if let Some(entered) = &load.entered {
                div .tray {
                    span .word { "tray " (load.tray) }
                    span .timer { "in for " span data-since=(entered.at) { (at.page.settings.dates.written(&entered.at)) } }
                    (Field::new(What::OvenOut).called("Out").of(&load.tray).form(&at.page))
                }
            }
        }
        @for load in state.loads.iter().filter(|l| l.minutes.is_some()) {
            p .second { "tray " (load.tray) ": " (number::fixed(load.minutes.unwrap_or_default(), 1)) " min" }
        }
    }
}

fn sign(at: &At<'_>) -> Markup {
    let here = at.here;
    match (&here.made.state.signed, here.rows.last()) {
        (Some(signed), _) => {
            html! { p .total { "Signed by " (signed.told.who) ", " (at.page.settings.dates.written(&signed.told.at)) "." } p .second { "What is entered from here on is marked as after signing. Signed was: " code { (signed.hash.chars().take(12).collect::<String>()) } } }
        }
        (None, Some(last)) => html! {
            form .enter .sign method="post" action=(at.page.to) data-enter="signed" data-label="signed" data-last="" {
                (super::field::hidden(&at.page, What::Signed.about().word))
                input type="hidden" name="value" value=(last.hash);
                p { "The sheet has " (here.rows.len()) " entries, the last one " code { (last.hash.chars().take(12).collect::<String>()) } "." }
                button .main { "Sign as " (at.page.who) }
                p .wrong role="alert" {}
            }
        },
        (None, None) => html! { p { "Nothing is entered yet, so there is nothing to sign." } },
    }
}
