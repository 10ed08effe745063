//! What a technologist expects of the demonstration. Common practice, no source, unless named.
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use formula::Forming;
use study::Code;
use study::model::{Study, Treatment, WaterChoice};
use study::{BakeOptions, Figure, KnockOn, Sample, Workspace, knock_on, run};

const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");

fn demonstration() -> Study {
    study::written::read(DEMONSTRATION).unwrap_or_else(|p| panic!("{p:#?}"))
}

fn answer(treatment: &Treatment) -> KnockOn {
    let mut w = Workspace::new();
    knock_on(&run(treatment, &BakeOptions::QUICK, Sample::Centre, &mut w).unwrap())
}

/// The control, and the control with something changed.
fn beside(change: impl FnOnce(&mut Treatment)) -> (KnockOn, KnockOn) {
    let study = demonstration();
    let control = study.control().clone();
    let mut changed = control.clone();
    change(&mut changed);
    (answer(&control), answer(&changed))
}

fn by_id(id: &str) -> KnockOn {
    let study = demonstration();
    answer(study.treatment(id).unwrap())
}

#[test]
fn every_treatment_reaches_its_target_with_every_figure_known() {
    let study = demonstration();
    assert!(study.treatments.len() >= 4);
    for t in &study.treatments {
        let k = answer(t);
        assert!(k.bake.reached, "{}: {:?}", k.id, k.bake.limit);
        for f in Figure::ALL {
            assert!(f.value(&k).is_some(), "{}: {}", k.id, f.about().name);
        }
        assert!(
            (k.bake.packed_moisture_pct - 8.0).abs() < 0.05,
            "{}",
            k.bake.packed_moisture_pct
        );
        assert!(
            k.bake.exit_moisture_pct > k.bake.cooled_moisture_pct,
            "water flashes off after the oven"
        );
        assert!(
            (90.0..105.0).contains(&k.bake.centre_peak_c),
            "{}",
            k.bake.centre_peak_c
        );
        assert!(k.bake.curve.time_min.len() > 30);
    }
}

#[test]
fn treatments_really_differ() {
    let study = demonstration();
    let all: Vec<KnockOn> = study.treatments.iter().map(answer).collect();
    for f in [
        Figure::DoughMoisture,
        Figure::BakeTime,
        Figure::OvenOutput,
        Figure::Protein,
        Figure::CostPerKg,
    ] {
        let values: Vec<f64> = all.iter().filter_map(|k| f.value(k)).collect();
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        assert!(high > 1.05 * low, "{}: {values:?}", f.about().name);
    }
}

#[test]
fn more_dough_water_bakes_longer_and_costs_oven_output() {
    let (control, wet) = beside(|t| {
        t.formula = t
            .formula
            .with_water(1.1 * t.formula.water_kg_per_100kg_dry_mix())
            .unwrap();
    });
    assert!(wet.bake.time_min > 1.02 * control.bake.time_min);
    assert!(wet.line.oven_kg_per_h.unwrap() < 0.98 * control.line.oven_kg_per_h.unwrap());
    assert!(wet.bake.water_removed_kg_per_kg_baked > control.bake.water_removed_kg_per_kg_baked);
}

#[test]
fn every_kilogram_of_water_beyond_need_costs_oven_output() {
    let study = demonstration();
    let curve = study::water_curve(study.control(), &BakeOptions::QUICK, 9).unwrap();
    assert!(curve.len() >= 9);
    for pair in curve.windows(2) {
        assert!(pair[1].water_kg_per_100kg_dry_mix > pair[0].water_kg_per_100kg_dry_mix);
        assert!(pair[1].oven_kg_per_h < pair[0].oven_kg_per_h, "{pair:?}");
        assert!(pair[1].bake_min > pair[0].bake_min, "{pair:?}");
    }
}

#[test]
fn a_thicker_piece_bakes_longer() {
    let (control, thick) = beside(|t| t.setting.piece.thickness_m *= 1.1);
    assert!(thick.bake.time_min > 1.08 * control.bake.time_min);
}

#[test]
fn a_closed_damper_bakes_slower() {
    let (control, closed) = beside(|t| {
        for zone in &mut t.setting.oven.zones {
            zone.humidity = baking::oven::Humidity::KgPerKg(0.35);
        }
    });
    assert!(closed.bake.time_min > control.bake.time_min);
}

#[test]
fn rotary_dough_is_drier_than_sheeted() {
    let (sheeted, rotary) = beside(|t| {
        t.water = WaterChoice::FromNeed;
        t.setting.process.forming = Forming::RotaryMoulded;
    });
    assert!(rotary.dough.water_need.mean < sheeted.dough.water_need.mean - 2.0);
    assert!(by_id("rotary").dough.moisture_pct < by_id("control").dough.moisture_pct);
}

#[test]
fn gluten_free_cereal_asks_for_no_less_water_than_wheat() {
    assert!(by_id("rice_chickpea").dough.water_need.mean >= by_id("control").dough.water_need.mean);
}

#[test]
fn a_binder_raises_the_water_need() {
    assert!(
        by_id("rice_chickpea_egg").dough.water_need.mean
            > by_id("rice_chickpea").dough.water_need.mean
    );
}

#[test]
fn milk_sugar_and_molasses_brown() {
    let study = demonstration();
    let control = study.control().clone();
    let mut sweet = control.clone();
    let molasses = study.material("molasses").unwrap();
    sweet.formula = formula::treatment::apply(
        &control.formula,
        &[formula::Change::Set {
            material: molasses.id.clone(),
            amount: formula::Amount::PercentOfMix(4.0),
        }],
    )
    .unwrap();
    // Browning is compared at one bake time, so that the bake doesn't answer for it.
    let asked = BakeOptions {
        bake_time_s: Some(900.0),
        ..BakeOptions::QUICK
    };
    let mut w = Workspace::new();
    let plain = knock_on(&run(&control, &asked, Sample::Centre, &mut w).unwrap());
    let dark = knock_on(&run(&sweet, &asked, Sample::Centre, &mut w).unwrap());
    assert!(dark.bake.colour_delta_e > plain.bake.colour_delta_e + 0.5);
}

#[test]
fn label_and_cautions_are_there() {
    let control = by_id("control");
    assert!(
        control
            .label
            .ingredient_statement
            .starts_with("Wheat Flour, Dried Brewers Grains")
    );
    assert!(
        control
            .label
            .gluten
            .iter()
            .any(|g| g.contains("Soft wheat flour"))
    );
    assert!(
        control
            .findings
            .iter()
            .any(|f| f.code == formula::Code::Hops)
    );
    assert!(
        control
            .findings
            .iter()
            .any(|f| f.help.to_lowercase().contains("veterinarian"))
    );
    let egg = by_id("rice_chickpea_egg");
    assert!(egg.label.allergens.iter().any(|a| a.contains("egg")));
    assert!(egg.label.gluten.is_empty(), "{:?}", egg.label.gluten);
}

#[test]
fn an_oven_that_cannot_get_there_says_what_it_reaches_and_what_limits() {
    let (_, cold) = beside(|t| {
        for zone in &mut t.setting.oven.zones {
            zone.air_k = 323.15;
            zone.radiating_k = Some(323.15);
            zone.band_k = 323.15;
            zone.humidity = baking::oven::Humidity::KgPerKg(0.07);
        }
    });
    assert!(!cold.bake.reached);
    let stop = cold
        .findings
        .iter()
        .find(|f| f.code == Code::TargetNotReached)
        .unwrap();
    assert_eq!(stop.severity, measure::Severity::Stop);
    assert!(stop.message.contains("target 8.0 %"), "{}", stop.message);
    assert!(stop.help.contains("limit"), "{}", stop.help);
}

#[test]
fn mass_closes_from_dough_to_pack() {
    let study = demonstration();
    for t in &study.treatments {
        let k = answer(t);
        let f =
            study::chain::dough_and_piece::dough_and_piece(t, &BakeOptions::QUICK, Sample::Centre)
                .unwrap()
                .formula;
        let b = f
            .bake_balance(measure::WetBasis::from_percent(k.bake.packed_moisture_pct))
            .unwrap();
        let gap = b.dough_kg - b.decomposed_kg - b.water_off_kg - b.baked_kg;
        assert!((gap / b.dough_kg).abs() < 1e-12);
        assert!((k.piece.baked_mass_g / k.piece.green_mass_g - b.yield_fraction()).abs() < 1e-12);
    }
}

#[test]
fn answers_do_not_depend_on_the_threads() {
    let study = demonstration();
    let wanted: Vec<&Treatment> = study.treatments.iter().collect();
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| {
            let mut c = study::compare(&study, &wanted, &BakeOptions::QUICK).unwrap();
            study::spread(&study, &mut c, &BakeOptions::QUICK, 24, 7).unwrap();
            serde_json::to_string(&c).unwrap()
        })
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn every_figure_has_limits_and_so_has_every_difference() {
    let study = demonstration();
    let wanted: Vec<&Treatment> = study.treatments.iter().collect();
    let mut compared = study::compare(&study, &wanted, &BakeOptions::QUICK).unwrap();
    study::spread(&study, &mut compared, &BakeOptions::QUICK, 40, 7).unwrap();
    for (i, c) in compared.iter().enumerate() {
        let s = c.spread.as_ref().unwrap();
        for figure in Figure::ALL {
            let key = figure.about().key;
            let (own, gap) = (s.figures.get(key), s.versus_control.get(key));
            assert!(own.is_some(), "{} {key}", c.answer.id);
            assert!(gap.is_some() || i == 0, "{} {key}", c.answer.id);
        }
    }
    // The sorption is recalled: both are unsure of their water activity, hardly of the difference.
    let key = Figure::PackedActivity.about().key;
    let s = compared[1].spread.as_ref().unwrap();
    let width = |l: study::compare::uncertainty::Limits| l.high95 - l.low95;
    assert!(width(s.figures[key]) > 0.15, "{:?}", s.figures[key]);
    assert!(
        width(s.versus_control[key]) < 0.05,
        "{:?}",
        s.versus_control[key]
    );
    assert_eq!(s.widest[key][0].input, "water held by the dry solid");
}

/// What a person has set isn't drawn: with an own film and an own limit the days vary less.
#[test]
fn what_is_known_of_the_pack_narrows_its_days() {
    let mut study = demonstration();
    // Drier than the demonstration, which is packed above the crispness limit, and followed for longer than it keeps.
    for t in &mut study.treatments {
        t.target.moisture = measure::WetBasis(0.03);
        t.setting.keeping.months = 60.0;
    }
    let width = |study: &Study| {
        let mut c = study::compare(study, &[], &BakeOptions::QUICK).unwrap();
        study::spread(study, &mut c, &BakeOptions::QUICK, 100, 7).unwrap();
        let l = c[0].spread.as_ref().unwrap().figures[Figure::CrispDays.about().key];
        (l.high95 / l.low95.max(1.0)).ln()
    };
    let usual = width(&study);
    // The same numbers as the defaults, but a person's own.
    let control = study.control;
    let keeping = &mut study.treatments[control].setting.keeping;
    keeping.film = study::model::FilmChoice::Transmission((3.2_f64 * 7.9).sqrt());
    let film = width(&study);
    study.treatments[control]
        .setting
        .keeping
        .crisp_water_activity += 1e-9;
    let both = width(&study);
    println!("usual {usual}, own film {film}, own limit too {both}");
    assert!(film < usual && both < film, "{usual} {film} {both}");
}

#[test]
fn spread_is_paired_so_that_shared_ignorance_cancels() {
    let study = demonstration();
    let wanted: Vec<&Treatment> = ["control", "poultry_fat"]
        .map(|id| study.treatment(id).unwrap())
        .to_vec();
    let mut compared = study::compare(&study, &wanted, &BakeOptions::QUICK).unwrap();
    study::spread(&study, &mut compared, &BakeOptions::QUICK, 60, 7).unwrap();
    let s = compared[1].spread.as_ref().unwrap();
    let key = Figure::BakeTime.about().key;
    let (own, gap) = (s.figures[key], s.versus_control[key]);
    assert!(own.high95 > own.low95);
    assert!(
        gap.high95 - gap.low95 < 0.5 * (own.high95 - own.low95),
        "difference {gap:?} of {own:?}: both share one oven"
    );
    assert_eq!(s.widest[key].len(), 3);
}

/// docs/model/spread.md is made from the list of what varies; `UPDATE_DOCS=1` writes it anew.
#[test]
fn the_page_of_what_varies_is_the_list() {
    let mut page = String::from(
        "# How sure an answer is\n\n\
         `study report --spread N --seed S` works every treatment out N times. In each draw everything below takes \
         another value about its best one, normally distributed (a spread of the logarithm: log-normally), and so do, \
         for every material of the formula, its constituents (standard deviation between lots, where none is written \
         the default of the constituent), its water uptake and its price. A draw of an input depends on the seed, the \
         number of the draw and the name of the input alone: treatments share what they share, so that shared \
         ignorance cancels in the difference from the control, and neither order nor threads change a figure. The \
         limits are the 2.5 and 97.5 % quantiles of the draws in which the target is reached; the three inputs with \
         the largest squared rank correlation are named as those that widen a figure most.\n\n\
         What a person has measured or set is not drawn where it replaces a default: an own film, an own limit of \
         crispness, an edge fitted to a bake of the whole piece. What was learned of the oven and the doughs and taken up is \
         drawn as it was learned, and what a fit took at its best values stays there (docs/model/learning-the-oven.md). Not drawn are the settings of oven and line \
         (they are choices; where across the oven a piece lies is drawn), climate, area and content of the pack, and the law of the kill.\n\n\
         | input | spread | unit | grade | stands on |\n| --- | ---: | --- | --- | --- |\n",
    );
    for about in study::chain::sample::Uncertain::ALL.map(study::chain::sample::Uncertain::about) {
        page.push_str(&format!(
            "| {} | {} | {} | {} | {} |\n",
            about.name,
            about.value,
            about.unit,
            about.grade.word(),
            about.source
        ));
    }
    page.push_str("\nMade by the tests from the list itself; don't edit.\n");
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/model/spread.md");
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(path, &page).unwrap();
    }
    assert!(
        std::fs::read_to_string(path).is_ok_and(|kept| kept == page),
        "docs/model/spread.md is not what the list says; run UPDATE_DOCS=1 cargo test -p study --test demonstration"
    );
}

/// Moisture was guaranteed at what is packed, and passed in the pack before its shelf life ended.
#[test]
fn the_label_promises_to_the_end_of_shelf_life() {
    let study = demonstration();
    let mut w = Workspace::new();
    let run = run(study.control(), &BakeOptions::QUICK, Sample::Centre, &mut w).unwrap();
    let kept = run.sold.kept.expect("the pack can be followed");
    assert_eq!(kept.packed, run.packed);
    assert_ne!(kept.driest, kept.wettest);
    let k = knock_on(&run);
    let moisture_max = k.label.guaranteed.moisture_max_pct.unwrap();
    assert!(moisture_max > kept.wettest.percent());
    assert!(k.findings.iter().any(|f| f.code == Code::MoistureInThePack));
}

/// A price of one's own whose source holds the three letters isn't the built-in one.
#[test]
fn a_price_after_a_report_is_no_invented_one() {
    let text = DEMONSTRATION.replace(
        "source = \"quotation (invented)\"",
        "source = \"quotation after the USDA report (invented)\"",
    );
    assert_ne!(text, DEMONSTRATION);
    let study = study::written::read(&text).unwrap_or_else(|p| panic!("{p:#?}"));
    for t in &study.treatments {
        let told = answer(t);
        assert!(told.findings.iter().all(|f| f.code != Code::PriceInvented));
    }
}

/// Soda lightened the crust, because it took the place of sugar; it browns.
#[test]
fn soda_browns_the_crust() {
    let (plain, with_soda) = beside(|t| {
        let lines = t.formula.lines().iter().cloned().map(|mut line| {
            if line.material.id == "baking_soda" {
                line.parts *= 2.0;
            }
            line
        });
        t.formula = formula::Formula::new(lines.collect()).unwrap();
    });
    assert!(with_soda.bake.colour_delta_e > plain.bake.colour_delta_e);
    assert!(
        with_soda
            .findings
            .iter()
            .any(|f| f.code == formula::Code::SodaBrowns)
    );
}

/// A die of one's own is refused when the piece is longer than its pitch.
#[test]
fn a_piece_that_does_not_fit_the_die_is_refused() {
    let text = DEMONSTRATION.replace("around = 11", "around = 14");
    let study = study::written::read(&text).unwrap_or_else(|p| panic!("{p:#?}"));
    let rotary = study.treatment("rotary").unwrap();
    let mut w = Workspace::new();
    let error = run(rotary, &BakeOptions::QUICK, Sample::Centre, &mut w).unwrap_err();
    assert!(error.to_string().contains("12 go around"), "{error}");
    // Without the counts the die is made for the piece.
    let text = DEMONSTRATION.replace("around = 11\nacross = 21\n", "width_m = 0.76\n");
    let study = study::written::read(&text).unwrap_or_else(|p| panic!("{p:#?}"));
    assert!(
        answer(study.treatment("rotary").unwrap())
            .line
            .output_kg_per_h
            > 0.0
    );
}
