//! Batches and trials as the bench writes them.

use bench::{
    Asked, Batch, Code, Drinks, Entry, Made, Mark, More, On, Part, PlanKept, Trial, What, advise,
    belief, done, fold, measured, read_form, readings, trial_of, whole, write_form,
};
use measure::Severity;
use trials::plan::{Design, Request, Unit, plan};
use trials::response::Response;

fn batch() -> Batch {
    Batch {
        code: "B01".into(),
        trial: None,
        study: "bars".into(),
        revision: 3,
        hash: "abc".into(),
        treatment: "control".into(),
        label: "control".into(),
        order: Some(1),
        places: Vec::new(),
        settings: Vec::new(),
        pieces: Some(60),
        dough_kg: Some(10.0),
        dry_mix_kg: Some(8.0),
        titration_sd_kg: Some(1.0),
        drinks: vec![Drinks {
            name: "flour".into(),
            kg_per_100kg: 100.0,
            uptake_kg_per_kg: 0.25,
            uptake_sd: 0.03,
        }],
        responses: vec![
            Asked::of(Response::BreakingForce, 5),
            Asked::own("crumbs on the tray", "g"),
        ],
    }
}

/// Rows in the order in which they are given, a second apart.
fn rows(list: &[(&str, &str, &str)]) -> Vec<Entry> {
    list.iter()
        .enumerate()
        .map(|(i, (what, of, value))| Entry {
            id: i as u64 + 1,
            key: format!("k{}", i + 1),
            at: format!("2026-03-02T09:{:02}:{:02}Z", i / 60, i % 60),
            arrived: format!("2026-03-02T09:{:02}:{:02}Z", i / 60, i % 60),
            who: "Ada".into(),
            device: Some("tablet".into()),
            what: (*what).into(),
            of: (!of.is_empty()).then(|| (*of).into()),
            value: (*value).into(),
            ..Entry::default()
        })
        .collect()
}

fn codes(found: &[measure::Finding]) -> Vec<&'static str> {
    found.iter().map(|f| f.code.word()).collect()
}

#[test]
fn doses_add_up_and_one_after_the_end_is_told() {
    let all = rows(&[
        ("dose", "", "1.4"),
        ("feel", "", "2"),
        ("dose", "", "0.4"),
        ("dough-right", "", "yes"),
        ("dose", "", "0.2"),
    ]);
    let state = fold(&batch(), &all);
    let totals: Vec<f64> = state.water.doses.iter().map(|d| d.total_kg).collect();
    assert!((totals[1] - 1.8).abs() < 1e-12 && (totals[2] - 2.0).abs() < 1e-12);
    // 1.8 kg on 8 kg of dry mix is 22.5 per 100; the plan's need is 25.
    let second = &state.water.doses[1];
    assert!((second.per_100kg.unwrap() - 22.5).abs() < 1e-9);
    assert!((second.of_need.unwrap() - 0.9).abs() < 1e-9);
    assert_eq!(state.water.feels[0].total_kg, 1.4);
    assert_eq!(codes(&state.findings), ["dose-after-right"]);
    // What the titration says is the water at which the dough was right.
    let dose = readings(&state, &Asked::of(Response::WaterDose, 1));
    assert!((dose[0].value - 22.5).abs() < 1e-9);
}

#[test]
fn counts_beyond_the_pieces_cut_and_below_nothing_are_told() {
    let fine = fold(
        &batch(),
        &rows(&[
            ("cut", "", "20"),
            ("cut-whole", "", "5"),
            ("cut-whole", "", "-1"),
            ("cut-broken", "", "3"),
        ]),
    );
    assert_eq!((fine.counts.whole, fine.counts.out_of()), (4, 20));
    assert!(fine.findings.is_empty(), "{:?}", fine.findings);
    let beyond = fold(
        &batch(),
        &rows(&[
            ("cut", "", "20"),
            ("cut-whole", "", "18"),
            ("cut-stuck", "", "3"),
            ("cut-broken", "", "-1"),
        ]),
    );
    assert_eq!(
        codes(&beyond.findings),
        ["count-below-nothing", "counts-beyond-cut"]
    );
    assert_eq!(beyond.counts.out_of(), 21);
    // Whoever counts only what went wrong has cut the rest whole.
    let faults = fold(
        &batch(),
        &rows(&[("cut", "", "40"), ("cut-broken", "", "2")]),
    );
    assert_eq!(faults.counts.left_whole(), 38);
    let odd = fold(
        &batch(),
        &rows(&[("cut", "", "2.5"), ("cut-whole", "", "many")]),
    );
    assert_eq!(codes(&odd.findings), ["not-a-number", "not-a-number"]);
}

#[test]
fn trays_are_timed_and_one_that_comes_out_before_it_goes_in_is_told() {
    let mut all = rows(&[
        ("oven-in", "1", "12"),
        ("oven-in", "2", "12"),
        ("oven-out", "2", ""),
        ("oven-out", "1", ""),
        ("oven-out", "3", ""),
    ]);
    all[2].at = "2026-03-02T08:59:00Z".into();
    all[3].at = "2026-03-02T09:16:00Z".into();
    all[3].arrived = "2026-03-02T09:16:00Z".into();
    let state = fold(&batch(), &all);
    assert_eq!(state.loads[0].minutes, Some(16.0));
    assert_eq!(state.loads[1].minutes, None);
    assert_eq!(codes(&state.findings), ["out-before-in", "out-without-in"]);
}

#[test]
fn a_value_beyond_what_is_plausible_is_kept_and_marked() {
    let mut all = rows(&[
        ("observed", "breaking_force_n", "4000"),
        ("observed", "breaking_force_n", "4000"),
        ("dough-temperature", "", "250"),
    ]);
    all[1].why = Some("the jaw touched the support".into());
    all[2].unit = Some("°F".into());
    let state = fold(&batch(), &all);
    let values: Vec<f64> = state.of(What::Observed).map(|v| v.value).collect();
    assert_eq!(values, [4000.0, 4000.0]);
    assert_eq!(
        codes(&state.findings),
        [
            "beyond-plausible",
            "beyond-plausible-confirmed",
            "beyond-plausible"
        ]
    );
    assert_eq!(state.findings[0].severity, Severity::Warn);
    assert_eq!(state.findings[1].severity, Severity::Note);
    let dough = state.last(What::DoughTemperature).unwrap();
    assert!((dough.value - 121.1).abs() < 0.1, "250 °F");
    assert_eq!(dough.marks, [Mark::Beyond { confirmed: false }]);
}

#[test]
fn units_that_do_not_fit_and_words_that_are_not_known_lose_nothing_else() {
    let mut all = rows(&[
        ("dose", "", "1.5"),
        ("dose", "", "500"),
        ("simmer", "", "3"),
        ("weighed", "", "3"),
        ("observed", "crumbs on the tray", "2.5"),
        ("dose", "", "0.5"),
    ]);
    all[0].unit = Some("mm".into());
    all[1].unit = Some("g".into());
    all[4].on = Some("shelf=2".into());
    let state = fold(&batch(), &all);
    assert_eq!(state.water.total_kg, 1.0);
    assert_eq!(
        codes(&state.findings),
        [
            "unit-unknown",
            "word-unknown",
            "which-missing",
            "place-unread"
        ]
    );
}

#[test]
fn a_correction_strikes_through_and_both_stay_readable() {
    let mut all = rows(&[
        ("dose", "", "18"),
        ("dose", "", "1.8"),
        ("note", "", "slip of the pen"),
        ("dough-right", "", "yes"),
        ("dough-right", "", ""),
        ("note", "", "one more"),
    ]);
    all[1].strikes = Some("k1".into());
    all[1].why = Some("the point was missing".into());
    all[4].strikes = Some("k4".into());
    all[5].strikes = Some("k99".into());
    let state = fold(&batch(), &all);
    assert_eq!(state.water.total_kg, 1.8);
    assert!(state.water.right.is_none());
    assert_eq!(state.struck.len(), 2);
    assert_eq!(state.struck[0].value, "18");
    assert_eq!(state.struck[0].why, "the point was missing");
    assert_eq!(state.struck[0].by.key, "k2");
    assert_eq!(
        codes(&state.findings),
        ["strikes-nothing", "strike-without-reason"]
    );
}

#[test]
fn rows_after_signing_count_and_are_marked() {
    let mut all = rows(&[
        ("dose", "", "2"),
        ("signed", "", "hash of row 1"),
        ("note", "", "the damper was open"),
    ]);
    let state = fold(&batch(), &all);
    assert_eq!(state.signed.as_ref().unwrap().hash, "hash of row 1");
    assert_eq!(state.after_signing, ["k3"]);
    assert!(state.words[0].told.after_signing);
    // Order is that of the book, whatever order they are handed over in.
    all.reverse();
    assert_eq!(fold(&batch(), &all), state);
}

#[test]
fn clocks_that_differ_are_told_and_not_trusted() {
    let mut all = rows(&[("note", "", "a"), ("note", "", "b"), ("note", "", "c")]);
    all[0].at = "2026-03-02T09:30:00Z".into();
    all[1].device = Some("desk".into());
    all[1].at = "2026-03-02T07:00:00Z".into();
    all[2].at = "soon".into();
    let state = fold(&batch(), &all);
    assert_eq!(
        codes(&state.findings),
        ["moment-unread", "clock-behind", "clock-ahead"]
    );
    assert_eq!(state.words[0].words, "a");
}

#[test]
fn the_need_is_learned_and_the_next_dose_stays_above_what_is_in() {
    let batch = batch();
    let right = fold(
        &batch,
        &rows(&[("dose", "", "2.16"), ("dough-right", "", "yes")]),
    );
    let before = belief(&batch, []).unwrap().unwrap();
    assert!((before.prior.mean_kg - 25.0).abs() < 1e-9);
    assert_eq!(before.prior, before.learned);
    let after = belief(&batch, [(&batch, &right)]).unwrap().unwrap();
    // One Kalman update: prior variance 9, noise 1, so nine tenths of the way from 25 to 27 (worked by hand).
    assert!((after.learned.mean_kg - 26.8).abs() < 1e-9);
    assert!(after.learned.sd_mean_kg < after.prior.sd_mean_kg);
    // Far off: asked about, not learned, until somebody signs.
    let far = [("dose", "", "5"), ("dough-right", "", "yes")];
    let state = fold(&batch, &rows(&far));
    let asked = belief(&batch, [(&batch, &state)]).unwrap().unwrap();
    assert_eq!(
        (asked.taken, asked.asked.as_slice()),
        (0, ["B01".to_owned()].as_slice())
    );
    let signed = rows(&[far[0], far[1], ("signed", "", "h")]);
    let state = fold(&batch, &signed);
    assert_eq!(
        belief(&batch, [(&batch, &state)]).unwrap().unwrap().taken,
        1
    );

    let empty = fold(&batch, &[]);
    let first = advise(&batch, &empty, &before, []).unwrap().unwrap();
    assert!((first.next - before.prior.first_dose_kg()).abs() < 1e-12 && first.weighed.is_none());
    let begun = fold(&batch, &rows(&[("dose", "", "1.9")]));
    let next = advise(&batch, &begun, &before, []).unwrap().unwrap();
    assert!(next.next > next.so_far && next.add_kg > 0.0);
    let most = before.prior.mean_kg + 2.0 * before.prior.sd_titration_kg;
    assert!(next.next <= most + 1e-9);
    assert!(advise(&batch, &right, &before, []).unwrap().is_none());
}

#[test]
fn the_share_of_whole_pieces_narrows_with_the_count() {
    let share = |n: &str, broken: &str| {
        let all = rows(&[("cut", "", n), ("cut-broken", "", broken)]);
        whole(&fold(&batch(), &all)).unwrap()
    };
    let (few, many) = (share("20", "2"), share("400", "40"));
    assert!(many.high95 - many.low95 < 0.5 * (few.high95 - few.low95));
    assert!(many.low95 < 0.9 && 0.9 < many.high95);
}

fn kept() -> PlanKept {
    PlanKept {
        id: "bite".into(),
        name: "Bite".into(),
        question: "Is it as firm?".into(),
        study: "bars".into(),
        revision: 3,
        hash: "abc".into(),
        control: Some("control".into()),
        names: vec![("control".into(), "control".into())],
        responses: vec![Asked::of(Response::BreakingForce, 5)],
        blind: true,
    }
}

/// Every design becomes a trial with its batches, and both read back as they were written.
#[test]
fn every_design_is_kept_and_reads_back() {
    for design in Design::ALL {
        for unit in design.units() {
            let wish = Request::example(design);
            let sheet = plan(&wish, *unit, 11).unwrap();
            let (trial, batches) = trial_of(&sheet, &wish, &kept());
            assert_eq!(trial.runs.len(), sheet.runs.len());
            assert_eq!(trial.batches().len(), batches.len());
            match unit {
                Unit::Dog => assert_eq!(batches.len(), trial.treatments.len(), "{design:?}"),
                _ => assert_eq!(batches.len(), sheet.runs.len(), "{design:?}"),
            }
            let text = trial.write().unwrap();
            assert_eq!(Trial::read(&text).unwrap(), trial, "{design:?}");
            for (_, batch) in &batches {
                let text = write_form(batch).unwrap();
                assert_eq!(read_form::<Batch>(&text).unwrap(), *batch);
            }
            // Drawn again from what is kept, it is the same sheet.
            let again = plan(&trial.wish, trial.unit, trial.seed).unwrap();
            assert_eq!(again.runs, sheet.runs);
            let mut codes: Vec<_> = trial.treatments.iter().map(|t| t.blind.clone()).collect();
            codes.sort();
            codes.dedup();
            assert_eq!(codes.len(), trial.treatments.len());
        }
    }
}

fn made(id: &str, batch: &Batch, all: &[(&str, &str, &str)]) -> Made {
    Made {
        id: id.into(),
        batch: batch.clone(),
        state: fold(batch, &rows(all)),
    }
}

#[test]
fn a_trial_that_changed_says_so_and_its_rows_are_what_was_done() {
    let wish = Request::example(Design::Blocks);
    let sheet = plan(&wish, Unit::Batch, 5).unwrap();
    let (trial, batches) = trial_of(&sheet, &wish, &kept());
    let (trial, id, again) = trial
        .with_batch(
            "bite",
            More::Again("B02"),
            "2026-03-02T12:00:00Z",
            "Ada",
            "the oven stopped",
        )
        .unwrap();
    assert_eq!(id, "bite-b13");
    assert_eq!(again.label, batches[1].1.label);
    assert!(
        trial
            .with_batch("bite", More::Again("B99"), "", "", "")
            .is_none()
    );
    let mut all: Vec<Made> = batches
        .iter()
        .take(11)
        .map(|(id, b)| {
            made(
                id,
                b,
                &[
                    ("observed", "breaking_force_n", "60"),
                    ("observed", "breaking force", "64"),
                ],
            )
        })
        .collect();
    all[1] = made(
        "bite-b02",
        &batches[1].1,
        &[
            ("observed", "breaking_force_n", "5"),
            ("abandoned", "", "the oven stopped"),
        ],
    );
    all.push(made("bite-b12", &batches[11].1, &[]));
    let mut late = made(
        &id,
        &again,
        &[
            ("observed", "breaking_force_n", "61"),
            ("set-aside", "k1", "cracked before"),
        ],
    );
    late.state.values[0].on = On::one(Part::Piece, "1");
    all.push(late);

    let told = done(&trial, &all);
    assert_eq!((told.planned, told.begun), (12, 11));
    assert_eq!(told.open, ["B12"]);
    assert_eq!(
        codes(&told.findings()),
        ["batch-abandoned", "batches-missing", "batches-added"]
    );
    let table = measured(&trial, &all, &trial.responses[0]);
    assert_eq!(
        table.head,
        [
            "order",
            "batch",
            "bake day",
            "treatment",
            "piece",
            "breaking_force_n",
            "set aside",
            "roles"
        ]
    );
    // Ten batches with two readings, and the one that was made again.
    assert_eq!(table.rows.len(), 21);
    assert!(table.rows.iter().all(|r| r[1] != "B02" && r[1] != "B12"));
    let last = table.rows.last().unwrap();
    assert_eq!(last[1], "B13");
    assert_eq!(last[6], "cracked before");
    assert!(last[7].contains("control=control") && last[7].contains("set-aside=set aside"));
    assert_eq!(Code::AfterSigning.word(), "written-after-signing");
}
