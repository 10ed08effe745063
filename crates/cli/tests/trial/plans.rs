//! Plans and their size.

use crate::run;

const DESIGNS: [&str; 13] = [
    "completely-randomised",
    "blocks",
    "latin-square",
    "williams",
    "factorial",
    "fractional",
    "augmented",
    "split-plot",
    "central-composite",
    "box-behnken",
    "simplex-lattice",
    "simplex-centroid",
    "constrained-mixture",
];

#[test]
fn every_design_is_listed_and_drawn_the_same_from_its_seed() {
    let list = run(&["trial", "plan", "list"]);
    assert_eq!(list.code, 0);
    for design in DESIGNS {
        assert!(list.out.contains(design), "{design}");
        let draw = |seed: &str| {
            run(&[
                "trial",
                "plan",
                design,
                "--example",
                "--seed",
                seed,
                "--json",
            ])
        };
        let one = draw("42");
        assert_eq!(one.code, 0, "{design}: {}", one.said());
        let sheet = one.json();
        assert_eq!(sheet["seed"], 42);
        assert!(sheet["algorithm"].as_str().unwrap().contains("version 1"));
        assert_eq!(one.out, draw("42").out, "{design}");
        assert_ne!(one.out, draw("43").out, "{design}");
        for line in run(&["trial", "plan", design, "--example"]).out.lines() {
            assert!(line.chars().count() <= 100, "{design}: {line}");
        }
    }
    assert!(list.out.lines().all(|l| l.chars().count() <= 100));
}

#[test]
fn each_design_takes_its_own_options() {
    let four = "control,barley,rice,egg";
    let cases: [(&[&str], usize); 13] = [
        (
            &[
                "completely-randomised",
                "--treatments",
                four,
                "--replicates",
                "4",
            ],
            16,
        ),
        (
            &[
                "blocks",
                "--treatments",
                four,
                "--blocks",
                "5",
                "--block-name",
                "week",
                "--per-block",
                "1",
            ],
            20,
        ),
        (
            &[
                "latin-square",
                "--treatments",
                four,
                "--row-name",
                "day",
                "--column-name",
                "slot",
                "--squares",
                "2",
            ],
            32,
        ),
        (&["williams", "--treatments", four, "--dogs", "8"], 32),
        (
            &[
                "factorial",
                "--factor",
                "flour=barley,rice",
                "--factor",
                "fat=oil,tallow,lard",
                "--replicates",
                "2",
            ],
            12,
        ),
        (
            &[
                "fractional",
                "--factor",
                "a=1,2",
                "--factor",
                "b=1,2",
                "--factor",
                "c=1,2",
                "--factor",
                "d=1,2",
                "--generator",
                "D=ABC",
            ],
            8,
        ),
        (
            &[
                "augmented",
                "--factor",
                "flour=barley,rice",
                "--factor",
                "fat=oil,tallow",
                "--control",
                "wheat",
                "--controls",
                "2",
                "--replicates",
                "3",
            ],
            18,
        ),
        (
            &[
                "split-plot",
                "--whole-plot",
                "oven=150,170",
                "--factor",
                "formula=control,barley,rice",
                "--blocks",
                "4",
            ],
            24,
        ),
        (
            &[
                "central-composite",
                "--factor",
                "water:%=26..34",
                "--factor",
                "time:min=18..30",
                "--reach",
                "face",
                "--centre",
                "5",
            ],
            13,
        ),
        (
            &[
                "box-behnken",
                "--factor",
                "a:mm=6..9",
                "--factor",
                "b:min=18..30",
                "--factor",
                "c:%=26..34",
                "--centre",
                "3",
            ],
            15,
        ),
        (
            &[
                "simplex-lattice",
                "--part",
                "wheat=0.3..",
                "--part",
                "barley",
                "--part",
                "grain",
                "--steps",
                "2",
                "--replicates",
                "2",
            ],
            12,
        ),
        (
            &[
                "simplex-centroid",
                "--part",
                "wheat",
                "--part",
                "barley",
                "--part",
                "grain",
                "--replicates",
                "1",
            ],
            7,
        ),
        (
            &[
                "constrained-mixture",
                "--part",
                "wheat=0.4..0.75",
                "--part",
                "barley=0.05..0.3",
                "--part",
                "grain=0.1..0.4",
                "--factor",
                "water:%=26..34",
                "--degree",
                "linear",
                "--runs",
                "10",
                "--starts",
                "20",
            ],
            10,
        ),
    ];
    for (args, runs) in cases {
        let ran = run(&[&["trial", "plan"][..], args, &["--json"]].concat());
        assert_eq!(ran.code, 0, "{args:?}: {}", ran.said());
        assert_eq!(
            ran.json()["runs"].as_array().unwrap().len(),
            runs,
            "{args:?}"
        );
    }
    let ran = run(&[
        "trial",
        "plan",
        "blocks",
        "--treatments",
        four,
        "--dogs",
        "4",
    ]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("--dogs") && ran.err.contains("--per-block"),
        "{}",
        ran.err
    );
    let ran = run(&["trial", "plan", "block"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("blocks"));
}

#[test]
fn sheets_are_written_in_every_form_and_drawn_again_from_the_printed_seed() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let base = [
        "trial",
        "plan",
        "blocks",
        "--treatments",
        "control,barley,rice",
        "--blocks",
        "4",
    ];
    let write = |name: &str, seed: &str| {
        let (csv, toml, md, html) = (
            at(&format!("{name}.csv")),
            at(&format!("{name}.toml")),
            at(&format!("{name}.md")),
            at(&format!("{name}.html")),
        );
        let ran = run(&[
            &base[..],
            &[
                "--seed",
                seed,
                "--csv",
                &csv,
                "--toml",
                &toml,
                "--markdown",
                &md,
                "--html",
                &html,
            ],
        ]
        .concat());
        assert_eq!(ran.code, 0, "{}", ran.said());
        [csv, toml, md, html].map(|p| std::fs::read_to_string(p).unwrap())
    };
    let one = write("one", "77");
    // The seed stands in every form; from the one in the CSV the same sheets come out.
    for text in &one {
        assert!(text.contains("77"), "{text}");
    }
    let printed = one[0]
        .lines()
        .nth(1)
        .unwrap()
        .split(',')
        .find(|c| *c == "77")
        .map(str::to_owned);
    assert_eq!(printed.as_deref(), Some("77"));
    assert_eq!(one, write("two", &printed.unwrap()));
    assert_ne!(one[0], write("three", "78")[0]);
}

#[test]
fn pieces_are_refused_as_units() {
    for args in [
        &[
            "trial",
            "plan",
            "blocks",
            "--treatments",
            "a,b",
            "--unit",
            "piece",
        ][..],
        &[
            "trial",
            "power",
            "two-sample",
            "--difference",
            "1",
            "--sd",
            "1",
            "--unit",
            "piece",
        ],
    ] {
        let ran = run(args);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("not a replicate"), "{}", ran.err);
    }
}

#[test]
fn power_answers_every_question() {
    // R 4.2.2: power.t.test(delta = 1, sd = 1, power = 0.8) needs 17; n = 20 has power 0.868953.
    let two = run(&[
        "trial",
        "power",
        "two-sample",
        "--difference",
        "1",
        "--sd",
        "1",
        "--json",
    ]);
    assert_eq!(two.json()["answer"]["n"], 17);
    let of = run(&[
        "trial",
        "power",
        "two-sample",
        "--difference",
        "1",
        "--sd",
        "1",
        "--n",
        "20",
        "--json",
    ]);
    let power = of.json()["answer"]["power"].as_f64().unwrap();
    assert!((power - 0.868953).abs() < 1e-6);
    for args in [
        &["paired", "--difference", "0.5", "--sd", "1"][..],
        &[
            "one-way",
            "--treatments",
            "4",
            "--difference",
            "8",
            "--between-sd",
            "3",
            "--within-sd",
            "7",
            "--pieces",
            "8",
        ],
        &["means", "--means", "62,54,46,60", "--sd", "4"],
        &[
            "blocks",
            "--treatments",
            "4",
            "--difference",
            "8",
            "--sd",
            "4",
        ],
        &["proportions", "--first", "0.04", "--second", "0.15"],
        &["first-choice", "--share", "0.7"],
    ] {
        let ran = run(&[&["trial", "power"][..], args].concat());
        assert_eq!(ran.code, 0, "{args:?}: {}", ran.said());
        assert!(ran.out.lines().all(|l| l.chars().count() <= 100));
    }
    let folder = tempfile::tempdir().unwrap();
    let svg = folder.path().join("p.svg").display().to_string();
    let ran = run(&[
        "trial",
        "power",
        "two-sample",
        "--difference",
        "1",
        "--sd",
        "1",
        "--svg",
        &svg,
    ]);
    assert_eq!(ran.code, 0, "{}", ran.said());
    let drawn = std::fs::read_to_string(svg).unwrap();
    assert!(drawn.starts_with("<svg xmlns") && drawn.contains("chance to see it"));
    let ran = run(&["trial", "power", "two-sample", "--sd", "1"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("--difference"));
}
