//! What is unusual about a line, and the usual cautions.

use super::former::fitted;
use super::{Cavities, Former, LineLoad, LineResult, LineSetting, Station};
use crate::Code;
use crate::oven::{Kind, cooling::OF_BAKE_TIME};
use measure::{Constant, Finding, Grade, Range, Severity};

/// Baked mass per area of the oven \[kg/m²\] (working range, assumed).
pub const USUAL_LOADING: Range = Range::new(1.5, 9.0);
/// Warmest a piece should be packed \[K\]: 35 °C (a maker's page, seen, weak; trade pages say near 30 °C).
pub const PACK_BELOW_K: Constant = Constant {
    name: "warmest a piece should be packed",
    value: 308.15,
    unit: "K",
    range: Range::new(298.15, 318.15),
    source: "a maker's page, 35 °C (seen, weak); trade pages say near 30 °C",
    grade: Grade::Published,
};
/// Heat into blown-out air over useful heat from which the dampers are spoken of (house rule, assumed).
const DRY_EXHAUST: Constant = Constant {
    name: "heat into blown-out air over useful heat from which the dampers are spoken of",
    value: 0.6,
    unit: "1",
    range: Range::new(0.3, 2.0),
    source: "house rule, assumed",
    grade: Grade::Assumed,
};
/// Dough should be formed within this \[s\] of mixing (from memory, 30 to 60 min).
const DOUGH_AGE_S: Constant = Constant {
    name: "dough should be formed within this of mixing",
    value: 3600.0,
    unit: "s",
    range: Range::new(1800.0, 7200.0),
    source: "from memory, to be confirmed: 30 to 60 min",
    grade: Grade::Recalled,
};

/// Findings for a line's answer.
pub fn findings(setting: &LineSetting, load: &LineLoad, result: &LineResult) -> Vec<Finding> {
    let mut found = load.piece.findings();
    found.extend(loading(result));
    found.extend(die_pitch(setting, load, result));
    found.extend(dry_exhaust(result));
    found.extend(drier_than_gas(result));
    found.extend(steps(setting, load));
    found.extend(cooling(load));
    found.extend(pack_temperature(load));
    found.extend(dough_age(setting, result));
    found.extend(rework(setting, result));
    found.push(
        Finding::new(
            Severity::Note,
            Code::FlourDust,
            "line.mixer",
            "flour dust causes bakers' asthma, and a cloud of it can explode",
        )
        .help("keep it off the air and off ledges, extract at the mixer, keep sparks away; limits of exposure and zoning are for local codes and a qualified person to settle")
        .source("0.5 mg/m³ inhalable over 8 h is a recommended limit in North America (seen); explosible from about 50 g/m³ (from memory)"),
    );
    found
}

fn loading(result: &LineResult) -> Option<Finding> {
    let kg = result.loading_kg_per_m2;
    (!USUAL_LOADING.contains(kg)).then(|| {
        Finding::new(
            Severity::Note,
            Code::UnusualLoading,
            "line.oven",
            format!("{kg:.1} kg baked per m² is outside the usual {USUAL_LOADING} kg/m²"),
        )
        .help(if kg < USUAL_LOADING.low {
            "pieces could lie closer"
        } else {
            "look at the pitch and the thickness; a heavily loaded oven may not hold its air temperature and humidity"
        })
        .source("working range of this program, assumed")
    })
}

fn die_pitch(setting: &LineSetting, load: &LineLoad, result: &LineResult) -> Option<Finding> {
    let Former::RotaryMoulder {
        die_diameter_m,
        cavities,
        ..
    } = setting.former
    else {
        return None;
    };
    let Kind::Band { .. } = load.oven.kind else {
        return None;
    };
    if result.bottleneck != Station::Former {
        return None;
    }
    let (around, across) = fitted(die_diameter_m, cavities, load).ok()?;
    let pitch_mm = std::f64::consts::PI * die_diameter_m / f64::from(around) * 1e3;
    let (help, room) = match cavities {
        Cavities::ForPiece { .. } => (
            "a thicker or wider die, or a piece whose length goes a whole number of times around it",
            String::new(),
        ),
        Cavities::Own { .. } => {
            let made = Cavities::ForPiece {
                width_m: f64::INFINITY,
            };
            let room = fitted(die_diameter_m, made, load).map_or_else(
                |_| String::new(),
                |(a, b)| format!("; a die made for the piece has {a} × {b} cavities"),
            );
            ("a die with more cavities, around or across", room)
        }
    };
    Some(
        Finding::new(
            Severity::Note,
            Code::DieSetsOutput,
            "line.former",
            format!(
                "the die's {around} × {across} cavities lay pieces {pitch_mm:.1} mm apart and the oven could take them {:.1} mm apart: the die, not the oven, sets the output{room}",
                load.layout.pitch_along_m * 1e3
            ),
        )
        .help(help),
    )
}

/// Tells an oven that is run so dry that heating fresh air takes more than [`DRY_EXHAUST`] of the useful heat.
fn dry_exhaust(result: &LineResult) -> Option<Finding> {
    let heat = result.oven_heat?;
    let share = heat.exhaust_kwh_per_kg / heat.useful_kwh_per_kg;
    (share > DRY_EXHAUST.value).then(|| {
        Finding::new(
            Severity::Note,
            Code::DryExhaust,
            "line.oven",
            format!(
                "heating the air that is blown out takes {}{:.2} kWh/kg, {:.0} % of what the product takes: {:.0} kg of air leave with each kg of water",
                if heat.exhaust.at_least { "at least " } else { "" },
                heat.exhaust_kwh_per_kg,
                share * 100.0,
                heat.exhaust.air_kg_per_kg_water
            ),
        )
        .help("close the dampers until the humidity rises: it costs little baking time; look at what it does in the oven's humidity")
        .source("heat balance of the exhaust by the zones' humidity (computed)")
    })
}

/// Tells a direct gas oven that is said to be drier than its own burning gas leaves it.
fn drier_than_gas(result: &LineResult) -> Option<Finding> {
    result.oven_heat.filter(|h| h.drier_than_gas).map(|_| {
        Finding::new(
            Severity::Warn,
            Code::DrierThanBurningGas,
            "line.oven",
            "an oven that burns gas in its chamber can't be this dry: the water of the burning gas alone keeps it wetter; \
             the fuel told is a least",
        )
        .help("read the humidity again, or write another heating")
        .source("heat balance of the exhaust with the water of combustion (computed)")
    })
}

/// Tells what the line's answer leaves out of the steps after the oven.
fn steps(setting: &LineSetting, load: &LineLoad) -> Option<Finding> {
    if load.steps_s() == 0.0 {
        return None;
    }
    let finding =
        |severity, code: Code, text: &str| Finding::new(severity, code, "line.dryer", text);
    Some(if !load.dries_apart() {
        finding(
            Severity::Note,
            Code::StepsInTheOven,
            "the steps after the bake are in the batch oven's time; their heat is counted as if they were run at the \
             bake's air and humidity",
        )
        .help("read the energy off a meter for one whole batch")
    } else if setting.dryer.is_some() {
        finding(
            Severity::Note,
            Code::DryerFuelApart,
            "fuel and heat are the oven's alone; the dryer's aren't counted",
        )
        .help("read the dryer's energy off a meter and add it")
    } else {
        finding(
            Severity::Warn,
            Code::DryerNotCounted,
            "the dryer after the oven has no capacity written: the output told is the most there can be, and the fuel is \
             the oven's alone",
        )
        .help("write the area that pieces dry on, in the line's dryer")
    })
}

/// The trade's rule of thumb, where the piece isn't known to be cool enough by then.
fn cooling(load: &LineLoad) -> Option<Finding> {
    if load.cooled_k.is_some_and(|k| k <= PACK_BELOW_K.value) {
        return None;
    }
    let multiple = load.cooling_time_s / load.bake_time_s;
    if multiple >= OF_BAKE_TIME.value - 1e-9 {
        return None;
    }
    let below_open_range = multiple < OF_BAKE_TIME.range.low;
    Some(
        Finding::new(
            if below_open_range { Severity::Warn } else { Severity::Note },
            Code::ShortCooling,
            "line.cooler",
            format!("cooling takes {multiple:.2} times the bake; the rule is {} times", OF_BAKE_TIME.value),
        )
        .help("a longer cooler, without fans for hard doughs; short cooling packs warm, moist pieces that crack or mould later")
        .source(OF_BAKE_TIME.source),
    )
}

fn pack_temperature(load: &LineLoad) -> Option<Finding> {
    let kelvin = load.cooled_k.filter(|k| *k > PACK_BELOW_K.value)?;
    Some(
        Finding::new(
            Severity::Warn,
            Code::PackedWarm,
            "line.packer",
            format!(
                "pieces are packed at {:.0} °C; below 35 °C is asked for",
                measure::temperature::celsius(kelvin)
            ),
        )
        .help("cool longer: warm pieces sweat in the pack, and wet spots grow mould")
        .source("a maker's page for pet biscuit lines (seen, weak); trade pages say near 30 °C"),
    )
}

fn dough_age(setting: &LineSetting, result: &LineResult) -> Option<Finding> {
    // One mixer after the other fills the former's hopper, so a batch lasts this long.
    let seconds = measure::units::HOUR_S / result.batches_per_h;
    (seconds > DOUGH_AGE_S.value).then(|| {
        Finding::new(
            Severity::Note,
            Code::DoughStandsLong,
            "line.mixer",
            format!(
                "a batch of {:.0} kg lasts {:.0} min; dough is best formed within 30 to 60 min",
                setting.mixer.batch_kg,
                seconds / 60.0
            ),
        )
        .help("smaller batches")
        .source("from memory, to be confirmed")
    })
}

fn rework(setting: &LineSetting, result: &LineResult) -> Vec<Finding> {
    let mut found = Vec::new();
    if result.rework.returned > 0.0 {
        found.push(
            Finding::new(
                Severity::Note,
                Code::Rework,
                "line.rework",
                format!("{:.0} % of the dough is rework", result.rework.returned * 100.0),
            )
            .help("only within the same recipe, at a low steady rate from the start of the mix; never across allergen or species lines")
            .source("trade page (seen); the allergen rule from memory, and local law decides"),
        );
    }
    if result.rework.excess > 1e-9 {
        found.push(
            Finding::new(
                Severity::Warn,
                Code::TrimAboveCap,
                "line.rework",
                format!(
                    "{:.0} % trim comes off and at most {:.0} % may go back: {:.0} kg dough per hour are left over",
                    result.rework.trim * 100.0,
                    setting.rework_cap * 100.0,
                    result.excess_trim_kg_per_h
                ),
            )
            .help("closer cuts, an outline with less trim, a rotary moulder, or a higher cap if the dough bears it"),
        );
    }
    found
}
