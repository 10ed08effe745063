//! What is entered at each station of a batch, taken from the one list of what is written at the bench.

use super::field::{Field, Page};
use super::oven::{stand, trays};
use super::photographs::photographs;
use super::water::water;
use app::AtBench;
use bench::{Asked, Nature, Part, Station, What, masses_kg, whole, whole_believed};
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
    /// How long it is planned to bake, minutes; only looked up where it is baked.
    pub(crate) planned_min: Option<f64>,
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
            let (label, usual) = match what {
                What::Lot => (lot_label(line), "kg"),
                _ => weighed_label(at, line),
            };
            let field = one.called(label).of(&line.material).usually_in(usual);
            vec![field.likely(lots_of(at, line))]
        }
        What::Dose => vec![one.called("other dose").usually_in("g")],
        What::Ice | What::Scrap => vec![one.usually_in("g")],
        What::OvenSet | What::OvenRead => vec![one.typed("oven")],
        What::OvenIn => vec![one.called("Tray in").numbered(state.loads.len() + 1)],
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
        What::ProbeHeight => {
            let curves = state.curves.iter();
            let field = |probe: &String| {
                let label = format!("Probe {probe}: height over the band");
                Field::new(what).called(label).of(probe)
            };
            curves.map(|c| field(&c.probe)).collect()
        }
        // These stand beside the row or button they belong to; what a logger wrote comes from its file.
        What::Photograph
        | What::Probe
        | What::LineMass
        | What::LineMoisture
        | What::SetAside
        | What::Signed
        | What::OvenOut
        | What::DoughRight
        | What::StandBegun
        | What::Feel => Vec::new(),
        _ if what.about().nature == Nature::Count => Vec::new(),
        _ => vec![one],
    }
}

/// The lots of a material that the book knows: the one of the study, and those that the trial has used.
fn lots_of(at: &At<'_>, line: &BatchLine) -> Vec<String> {
    let known = at.here.lots.get(&line.material).into_iter().flatten();
    let of_study = std::iter::once(&line.lot).filter(|lot| !lot.is_empty());
    let mut all: Vec<String> = Vec::new();
    for lot in of_study.chain(known) {
        if !all.contains(lot) {
            all.push(lot.clone());
        }
    }
    all
}

fn lot_label(line: &BatchLine) -> String {
    format!("lot of {}", line.name)
}

/// What to weigh of a material, and the unit that it is usually typed in.
fn weighed_label(at: &At<'_>, line: &BatchLine) -> (String, &'static str) {
    if line.weighed_kg < 1.0 {
        let g = number::plain((1000.0 * line.weighed_kg).round());
        return (format!("{}: {g} g", line.name), "g");
    }
    let mark = at.page.settings.decimal.mark().to_string();
    let kg = number::fixed(line.weighed_kg, 3).replace('.', &mark);
    (format!("{}: {kg} kg", line.name), "kg")
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
        Station::Dough => html! { (stand(at)) (forms) },
        Station::Cut => html! { (cut(at)) (forms) },
        Station::Oven => {
            let all = fields(at, station);
            let rank = |field: &Field| match field.what() {
                What::OvenIn => 0,
                what => 1 + u8::from(what.about().of == What::PulledAfter.about().of),
            };
            let of = |wanted| html! { @for field in all.iter().filter(|f| rank(f) == wanted) { (field.form(&at.page)) } };
            html! { (of(0)) (trays(at)) h2 { "Pull " span data-pull=(pull(at)) { (pull(at)) } } (of(2)) h2 { "The oven" } (of(1)) }
        }
        Station::Sheet => html! {
            (photographs(at)) (forms) (sign(at))
            p { a .way href=(super::whole::address(&at.here.made.id)) { "The whole batch sheet, to print" } }
        },
        Station::After => html! {
            (forms)
            p { a .way href=(super::line::address(&at.here.made.id)) { "Checks on the line, across the band" } }
        },
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
            @let masses: serde_json::Value = masses_kg().into_iter().collect();
            table .to-weigh data-units=(masses.to_string()) {
                thead { tr { th scope="col" { "material" } th .figure scope="col" { "weigh, kg" } th .figure scope="col" { "weighed" } } }
                tbody { @for line in at.weigh {
                    @let (label, unit) = weighed_label(at, line);
                    tr aria-current=[(up == Some(line.material.as_str())).then_some("true")] data-material=(line.material) data-label=(label) data-unit=(unit) data-lot-label=(lot_label(line)) data-lots=(serde_json::json!(lots_of(at, line)).to_string()) {
                        th scope="row" { a href=(format!("{}?of={}", at.page.to, crate::pages::study::encoded(&line.material))) { (line.name) } }
                        td .figure { (kg(line.weighed_kg)) }
                        td .figure .weighed data-weighed=[weighed(line).map(|v| v.value)] { @match weighed(line) { Some(v) => (kg(v.value)), None => "–" } }
                    }
                } }
                tfoot { tr { th scope="row" { "all but the water" } td .figure { (kg(wanted)) } td .figure data-sum-weighed="" { (kg(done)) } } }
            }
        }
    }
}

fn cut(at: &At<'_>) -> Markup {
    let state = &at.here.made.state;
    let counts = state.counts;
    let mark = at.page.settings.decimal.mark().to_string();
    let steps = [("1", "+1"), ("5", "+5"), ("-1", "−1")].map(|(v, s)| (v.to_owned(), s.to_owned()));
    let so_far = |what: What| match what {
        What::Cut => counts.cut.unwrap_or(0),
        What::CutWhole => counts.whole,
        What::CutBroken => counts.broken,
        _ => counts.stuck,
    };
    let (level, level_sd) = whole_believed();
    let p = whole(state).ok().filter(|_| counts.out_of() > 0);
    let counted = What::ALL
        .into_iter()
        .filter(|w| w.about().nature == Nature::Count);
    // What became of the pieces first; how many were cut is counted by itself only where somebody wants to.
    let (cut, fates): (Vec<What>, Vec<What>) = counted.partition(|w| *w == What::Cut);
    html! {
        @for what in fates.into_iter().chain(cut) {
            div .counter {
                span .word { (what.about().label) }
                output data-sum=(what.about().word) data-kept=(so_far(what)) data-places="0" data-none[what == What::Cut && counts.cut.is_none()] { (so_far(what)) }
                (Field::new(what).taps(&at.page, &steps))
            }
        }
        div #whole data-level=(level) data-level-sd=(level_sd) hidden[p.is_none()] {
            p .total { "A piece leaves whole: " output { @if let Some(p) = p { (number::interval_to(p.probability, p.low95, p.high95, 2).replace('.', &mark)) } } }
            p .second { span data-whole="" { (counts.left_whole()) } " of " span data-out-of="" { (counts.out_of()) } " so far, with what is believed of doughs; 95 % interval." }
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
