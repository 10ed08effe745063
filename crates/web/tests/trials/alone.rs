//! A batch that belongs to no trial.

use super::{Site, StatusCode, TRIALS, Value};

/// A batch of no trial is pinned to the study as saved, weighs what the study says, and takes entries like any other.
#[tokio::test]
async fn a_batch_on_its_own_is_begun_from_the_study() {
    let site = Site::new().await;
    let page = site.get(TRIALS).await;
    assert!(page.contains("A batch on its own"), "{page}");
    let to_begin = TRIALS.replace("/trials", "/batch");
    let form = [("treatment", "barley"), ("pieces", "40"), ("loss", "5")];
    let (status, to, text) = site.post(&to_begin, &form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let (_, second, _) = site.post(&to_begin, &form).await;
    assert_ne!(to, second, "each is one of its own");
    let page = site.get(&to).await;
    assert!(
        page.contains("Barley for wheat") && page.to_lowercase().contains("barley flour"),
        "{page}"
    );
    let here = site.json(&to).await;
    let batch = &here["made"]["batch"];
    assert_eq!(
        (&batch["pieces"], &batch["trial"]),
        (&Value::from(40), &Value::Null)
    );
    // 40 good pieces at 5 % lost on the way are 42.1 pieces of dough.
    let dough = batch["dough_kg"].as_f64().unwrap();
    let of_bite = site.json("/bench/bite-b01/weigh").await;
    let of_bite = &of_bite["made"]["batch"];
    let each = |b: &Value| b["dough_kg"].as_f64().unwrap() / b["pieces"].as_f64().unwrap();
    assert!(
        (dough / 40.0 / each(of_bite) - 1.0).abs() < 0.05,
        "as much for a piece as in the demonstration’s trial"
    );
    let station = to.replace("/weigh", "/water");
    let dose = [("what", "dose"), ("value", "100"), ("unit", "g")];
    let (status, ..) = site.post(&station, &dose).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let list = site.get("/bench").await;
    assert!(
        list.contains("Batches of no trial") && list.contains("at water, 1 entry"),
        "{list}"
    );
    for (field, value) in [
        ("treatment", "soup"),
        ("pieces", "0"),
        ("pieces", "many"),
        ("loss", "95"),
        ("pieces", "99999999"),
    ] {
        let mut odd = form;
        odd.iter_mut()
            .filter(|f| f.0 == field)
            .for_each(|f| f.1 = value);
        let (status, _, text) = site.post(&to_begin, &odd).await;
        assert!(status.is_client_error(), "{field}={value}: {status} {text}");
    }
}
