//! What a logger wrote: looked at, matched to batches, kept.

use super::{Site, StatusCode, held, two_flours};

/// Two probes of a log made by hand: the first lies in the batch that its head names, each gets its height, and what is kept
/// stands on the page as a picture.
#[tokio::test]
async fn a_logger_s_file_is_looked_at_matched_and_kept() {
    let site = Site::new().await;
    let trial = two_flours(&site).await;
    let at = format!("{trial}/measure/log");
    let probes = format!("{trial}/measure/probes");
    let mut text = "Zeit/time (min);B02 core (°C);crust (°C)\n".to_owned();
    for n in 0..=60 {
        let minute = f64::from(n) / 4.0;
        let line = format!("{minute};{};{}\n", 25.0 + 4.0 * minute, 30.0 + 7.0 * minute);
        text.push_str(&line.replace('.', ","));
    }
    let fields = [("batch", "B01"), ("decimal", "comma")];
    let (status, page) = site.upload(&at, text.as_bytes(), &fields).await;
    assert_eq!(status, StatusCode::OK, "{page}");
    for words in [
        "61 readings",
        "<svg",
        "without its height",
        "61 of 61 readings, one of each 10 s",
        "Keep these readings",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let file = held(&page);
    let said = [
        ("file", file.as_str()),
        ("decimal", "comma"),
        ("in", "0,5"),
        ("out", "0:14:00"),
        ("batch.0", "B02"),
        ("height.0", "4"),
        ("batch.1", "B01"),
        ("height.1", "7,5"),
    ];
    let (status, _, page) = site.post(&probes, &said).await;
    assert!(
        status == StatusCode::OK && page.contains("55 of 55 readings"),
        "{page}"
    );
    assert!(
        page.contains("value=\"7,5\""),
        "what was typed stands: {page}"
    );
    // What can't be so is told on the page, and the rest of what was typed stays.
    let mut odd = said;
    odd[7].1 = "high";
    let (status, _, page) = site.post(&probes, &odd).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        page.contains("value=\"high\"")
            && page.contains("value=\"0:14:00\"")
            && page.contains("role=\"alert\""),
        "{page}"
    );
    odd = said;
    odd[3].1 = "0:00:10";
    let (status, _, page) = site.post(&probes, &odd).await;
    assert!(
        status == StatusCode::UNPROCESSABLE_ENTITY && page.contains("came out"),
        "{page}"
    );
    let enter = [&said[..], &[("enter", "all"), ("new", "4")]].concat();
    let (status, ..) = site.post(&probes, &enter).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let page = site.get(&format!("{trial}/measure?batch=B01")).await;
    assert!(
        page.contains("Temperature inside, B01") && page.contains("crust, 7.5 mm over the band"),
        "{page}"
    );
    // The same file again has nothing new; another one of the same probe wants a reason.
    let (_, _, page) = site.post(&probes, &said).await;
    assert!(page.contains("There is nothing new in it"), "{page}");
    let mut later = said;
    later[2].1 = "1";
    let (_, _, page) = site.post(&probes, &later).await;
    assert!(
        page.contains("give a reason to strike them through"),
        "{page}"
    );
    let with_reason = [
        &later[..],
        &[
            ("correct", "it went in later"),
            ("enter", "all"),
            ("new", "2"),
        ],
    ]
    .concat();
    let (status, _, page) = site.post(&probes, &with_reason).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
    for wrong in ["time (s);core\n0;1\n", "hello\n", "time;core (°C)\n1;2\n"] {
        let (_, page) = site.upload(&at, wrong.as_bytes(), &fields).await;
        assert!(page.contains("What can’t be read"), "{wrong}: {page}");
    }
    let hostile = "time (s);<i>core</i> (°C)\n0;1\n1;2\n";
    let (_, page) = site.upload(&at, hostile.as_bytes(), &fields).await;
    assert!(
        page.contains("&lt;i&gt;core") && !page.contains("<i>core"),
        "{page}"
    );
}
