//! Questions of their own beside the responses of a trial.

use super::{Asked, Body, HOST, Site, StatusCode, TRIALS, Value, header, held};

/// As good as the control is asked of every response whose margin was told; a panel's questions stand there once a panel
/// wrote something down.
#[tokio::test]
async fn questions_of_their_own_stand_beside_the_responses() {
    let site = Site::new().await;
    let page = site.get("/trial/bite").await;
    assert!(page.contains("ask=as-good#asked") && !page.contains("ask=two-bowl"));
    let page = site.get("/trial/bite?ask=as-good").await;
    for words in [
        "As good as the control?",
        "within 8.00 N of Soft wheat (control) either way",
        "Shown not to be: Rice and chickpea, no gluten grain;",
        "Not shown either way: Rice and chickpea with egg white, Barley for wheat.",
        "The figures",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let json = site.json("/trial/bite?ask=as-good").await;
    let lines = json["responses"][0]["equivalence"].as_array().unwrap();
    let whole = site.json("/trial/bite").await;
    assert_eq!(
        json["responses"][0]["equivalence"],
        whole["responses"][0]["analysis"]["equivalence"]
    );
    assert_eq!(
        (lines.len(), &json["responses"][0]["margin"]),
        (3, &Value::from(8.0))
    );
    let request = Asked::get("/trial/bite?ask=soup").header(header::HOST, HOST);
    let (status, _, text) = site.ask(request.body(Body::empty()).unwrap()).await;
    assert!(
        status.is_client_error() && text.contains("two-bowl"),
        "{text}"
    );
    let page = site.get("/trial/bite?ask=two-bowl").await;
    assert!(
        page.contains("Nothing was written that it could be asked of"),
        "{page}"
    );

    let form = [
        ("ask", "blocks"),
        ("name", "Bowls"),
        ("t.control", "0"),
        ("t.barley", "1"),
        ("blocks", "2"),
        ("unit", "batch"),
        ("seed", "5"),
        ("pieces", "40"),
        ("r.intake_g", "8"),
        ("r.first_choice", "8"),
        ("responses", "rank:8"),
    ];
    let (status, to, text) = site.post(TRIALS, &form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let trial = to.strip_suffix("/sheet").unwrap();
    let runs = site.json(trial).await["trial"]["runs"].clone();
    let code = |food: &str| {
        let of = |r: &&Value| r["treatment"] == food;
        runs.as_array().unwrap().iter().find(of).unwrap()["unit"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    let (a, b) = (code("control"), code("barley"));
    let mut text = "batch,dog,day,position,intake_g,first_choice\n".to_owned();
    for (n, dog) in ["Rex", "Ida", "Bo", "Kim"].iter().enumerate() {
        for day in [1, 2] {
            let sides = if (n + day) % 2 == 0 {
                ["left", "right"]
            } else {
                ["right", "left"]
            };
            text.push_str(&format!(
                "{a},{dog},{day},{},{},1\n",
                sides[0],
                50 + 3 * n + day
            ));
            text.push_str(&format!("{b},{dog},{day},{},{},0\n", sides[1], 30 + n));
        }
    }
    let (_, page) = site
        .upload(&format!("{trial}/measure/file"), text.as_bytes(), &[])
        .await;
    let file = held(&page);
    let enter = [
        ("file", file.as_str()),
        ("decimal", "point"),
        ("enter", "all"),
        ("new", "32"),
    ];
    let (status, _, text) = site.post(&format!("{trial}/measure/look"), &enter).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let page = site.get(&format!("{trial}?ask=two-bowl&least=10")).await;
    for words in [
        "Two bowls and first choice",
        "A is ",
        "share of A in first choice",
        "hardtack trial twobowl",
        "value=\"10\"",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let csv = site
        .get(&format!("{trial}/measurements?format=csv&ask=two-bowl"))
        .await;
    assert!(
        csv.starts_with("dog,day,left,offered_a_g,") && csv.contains("Bo,1,B,,,57,32,A"),
        "{csv}"
    );
    let request = Asked::get(format!("{trial}?ask=two-bowl&least=much")).header(header::HOST, HOST);
    let (status, ..) = site.ask(request.body(Body::empty()).unwrap()).await;
    assert!(status.is_client_error());
}
