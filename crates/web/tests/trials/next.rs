//! The page Next: limits, bakes, doughs and formulas; and what batches taught under the sheet.

use super::{Site, StatusCode};

const NEXT: &str = "/study/spent-grain-bars/next";
const SHEET: &str = "/study/spent-grain-bars";

#[tokio::test(flavor = "multi_thread")]
async fn limits_are_written_here_and_stand_on_the_sheet() {
    let site = Site::new().await;
    assert!(!site.get(SHEET).await.contains("not kept"));
    let base = site.json(SHEET).await["state"]["base"].to_string();
    let limit = [
        ("do", "add-limit"),
        ("base", base.as_str()),
        ("figure", "bake.time_min"),
        ("at_most", "14.5"),
        ("reason", "the oven limits the line"),
    ];
    let (status, _, text) = site.post(NEXT, &limit).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    for page in [NEXT, SHEET] {
        let text = site.get(page).await;
        for part in [
            "bake at most 14.5 min",
            "the oven limits the line",
            "not kept",
        ] {
            assert!(text.contains(part), "{page}: {part}");
        }
    }
    for (at, value, named) in [
        ("at_most", "much", "much"),
        ("probability_pct", "120", "120"),
        ("figure", "bake.joy", "bake.joy"),
    ] {
        let mut odd: Vec<(&str, &str)> = limit.to_vec();
        odd.retain(|(name, _)| *name != at);
        odd.push((at, value));
        let (status, _, text) = site.post(NEXT, &odd).await;
        assert!(
            status.is_client_error() && text.contains(named),
            "{at}: {text}"
        );
    }
    let take = [
        ("do", "remove-limit"),
        ("base", base.as_str()),
        ("nth", "1"),
    ];
    let (status, _, text) = site.post(NEXT, &take).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    assert!(!site.get(SHEET).await.contains("not kept"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_to_try_next_is_ranked_by_the_answer() {
    let site = Site::new().await;
    let told = site
        .json(&format!("{NEXT}?response=breaking_force_n&batches=4"))
        .await;
    let bakes = told["bake"].as_array().unwrap();
    assert_eq!(bakes.len(), 3);
    for bake in bakes {
        let left = bake["sd_ln"].as_array().unwrap().last().unwrap().as_f64();
        assert!(left < bake["sd_ln_before"].as_f64(), "{bake}");
    }
    let doughs = told["doughs"].as_array().unwrap();
    let left = |i: usize| doughs[i]["all_sd"][1].as_f64().unwrap();
    assert!((1..doughs.len()).all(|i| left(i - 1) <= left(i)), "{told}");
    let formulas = &told["formulas"];
    // The control and the barley were made, the poultry fat wasn't: it isn't the best so far.
    assert_ne!(formulas["best"][0], "Poultry fat for sunflower oil");
    let pick = formulas["pick"].as_array().unwrap();
    assert_eq!(pick.len(), 4);
    assert!(pick.iter().all(|p| p["improvement"].as_f64() >= Some(0.0)));
    assert_eq!(formulas["batches"], 12);
    let none = site.json(&format!("{NEXT}?response=crumb")).await;
    let why = none["why_no_formulas"].as_str().unwrap();
    assert!(why.contains("crumb"), "{why}");
    let page = site.get(&format!("{NEXT}?response=breaking_force_n")).await;
    for part in [
        "Best so far",
        "The dough to titrate",
        "expected improvement",
    ] {
        assert!(page.contains(part), "{part}");
    }
    let (status, _, text) = site.look(&format!("{NEXT}?batches=0")).await;
    assert!(
        status.is_client_error() && text.contains("give 1 to"),
        "{text}"
    );
}

/// A measured response is a figure of every treatment, with its interval.
#[tokio::test(flavor = "multi_thread")]
async fn learned_figures_stand_under_the_sheet() {
    let site = Site::new().await;
    let page = site.get(SHEET).await;
    let at = page.find("id=\"learned-figures\"").unwrap();
    let part = &page[at..];
    assert!(
        part.contains("breaking force") && part.contains("12 batches"),
        "{part}"
    );
}
