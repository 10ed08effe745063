//! Over random text and random studies: reading never panics, writing loses nothing.

use proptest::prelude::*;
use study::written::field::{Field, Kind, Need, Table};
use study::written::{
    Comment, Entry, Row, StudyWritten, Value, fields_markdown, read, read_written, schema, tables,
    write,
};

const EXAMPLE: &str = include_str!("../../../examples/spent-grain.toml");

fn text(longest: usize) -> BoxedStrategy<String> {
    let letter = prop_oneof![
        any::<char>().prop_filter("printable", |c| !c.is_control()),
        Just('\n'),
        Just('\t'),
        Just('"'),
        Just('\\'),
        Just('#'),
        Just('\''),
    ];
    proptest::collection::vec(letter, 0..=longest.min(40))
        .prop_map(|c| c.into_iter().collect())
        .boxed()
}

fn value(field: &'static Field) -> BoxedStrategy<Value> {
    match field.kind {
        Kind::Text(longest) => text(longest).prop_map(Value::Text).boxed(),
        Kind::Id | Kind::Material | Kind::Treatment => {
            "[a-z0-9_-]{1,12}".prop_map(Value::Text).boxed()
        }
        Kind::Number(_, r) => (r.low..=r.high).prop_map(Value::Number).boxed(),
        Kind::Whole(r) => (r.low..=r.high)
            .prop_map(|n| Value::Number(n.round()))
            .boxed(),
        Kind::Flag => any::<bool>().prop_map(Value::Flag).boxed(),
        Kind::Choice(words) => proptest::sample::select(words())
            .prop_map(|w| Value::Text(w.to_owned()))
            .boxed(),
        Kind::Choices(words) => proptest::collection::vec(proptest::sample::select(words()), 0..3)
            .prop_map(|ws| Value::Words(ws.into_iter().map(str::to_owned).collect()))
            .boxed(),
        Kind::Table(t) => row(t, Room::Section).prop_map(Value::Row).boxed(),
        Kind::Inline(t) => row(t, Room::Inside).prop_map(Value::Row).boxed(),
        Kind::Tables(t, _) => proptest::collection::vec(row(t, Room::Section), 1..3)
            .prop_map(Value::Rows)
            .boxed(),
        Kind::Lines(t, _) => proptest::collection::vec(row(t, Room::Line), 0..4)
            .prop_map(Value::Rows)
            .boxed(),
        Kind::Forms(forms, _) => {
            let forms: Vec<_> = forms.iter().map(|t| row(t, Room::Line)).collect();
            proptest::collection::vec(proptest::strategy::Union::new(forms), 0..4)
                .prop_map(Value::Rows)
                .boxed()
        }
    }
}

/// What room a table has for comments.
#[derive(Clone, Copy, PartialEq)]
enum Room {
    /// A header of its own: comments at the header and at every key.
    Section,
    /// A line of its own: comments at the line.
    Line,
    /// Inside a line: none.
    Inside,
}

fn comment(may: bool) -> BoxedStrategy<Comment> {
    if !may {
        return Just(Comment::default()).boxed();
    }
    let words = || "[ -~äµ°]{0,20}".prop_map(|s| s.trim().to_owned());
    (
        proptest::collection::vec(words(), 0..2),
        proptest::option::of(words()),
    )
        .prop_map(|(above, beside)| Comment { above, beside })
        .boxed()
}

fn row(table: &'static Table, room: Room) -> BoxedStrategy<Row> {
    let fields: Vec<BoxedStrategy<Option<(usize, Value, Comment)>>> = table
        .fields
        .iter()
        .enumerate()
        .map(|(i, f)| {
            // Tables under headers carry their comments themselves.
            let headed = matches!(f.kind, Kind::Table(_) | Kind::Tables(..));
            let may = room == Room::Section && !headed;
            let written = (value(f), comment(may)).prop_map(move |(v, c)| Some((i, v, c)));
            if f.need == Need::Required {
                written.boxed()
            } else {
                prop_oneof![Just(None), written].boxed()
            }
        })
        .collect();
    (fields, comment(room != Room::Inside))
        .prop_map(move |(written, comment)| {
            let mut row = Row::new(table);
            row.comment = comment;
            for (i, value, comment) in written.into_iter().flatten() {
                let key = table.fields[i].key;
                row.entries.push(Entry {
                    key,
                    value,
                    comment,
                    place: Default::default(),
                });
            }
            row
        })
        .boxed()
}

fn studies() -> impl Strategy<Value = StudyWritten> {
    row(&tables::ROOT, Room::Section).prop_map(|mut root| {
        // The file has no header that could carry a comment.
        root.comment = Comment::default();
        StudyWritten {
            root,
            end: Vec::new(),
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn writing_loses_nothing(study in studies()) {
        let text = write(&study);
        let again = read_written(&text).map_err(|p| TestCaseError::fail(format!("{p:?}\n{text}")))?;
        prop_assert_eq!(&again, &study, "{}", text);
        prop_assert_eq!(write(&again), text);
    }

    #[test]
    fn any_study_resolves_or_is_told_why(study in studies()) {
        if let Err(problems) = read(&write(&study)) {
            prop_assert!(!problems.is_empty());
        }
    }

    #[test]
    fn any_text_is_read_without_panic(text in any::<String>()) {
        let _ = read(&text);
    }

    #[test]
    fn the_example_with_odd_bytes_is_read_without_panic(
        cuts in proptest::collection::vec((0..EXAMPLE.len(), any::<u8>()), 1..12)
    ) {
        let mut bytes = EXAMPLE.as_bytes().to_vec();
        for (at, byte) in cuts {
            bytes[at] = byte;
        }
        let text = String::from_utf8_lossy(&bytes);
        if let Err(problems) = read(&text) {
            prop_assert!(!problems.is_empty());
            for p in problems {
                prop_assert!(p.span.is_some_and(|span| text.get(span).is_some()));
            }
        }
    }

    #[test]
    fn the_example_cut_short_is_read_without_panic(at in 0..EXAMPLE.len()) {
        let _ = read(&EXAMPLE[..EXAMPLE.floor_char_boundary(at)]);
    }

    #[test]
    fn numbers_come_back_as_they_were(n in 1.0f64..40.0) {
        let text = EXAMPLE.replace("thickness_mm = 8", &format!("thickness_mm = {n:?}"));
        let written = read_written(&text).map_err(|p| TestCaseError::fail(format!("{p:?}")))?;
        let again = read_written(&write(&written)).map_err(|p| TestCaseError::fail(format!("{p:?}")))?;
        let piece = again.root.row(tables::RootRow::piece);
        prop_assert_eq!(piece.and_then(|p| p.get(tables::PieceRow::thickness_mm)), Some(n));
    }
}

/// Every table below the root, each once.
fn every_table() -> Vec<&'static Table> {
    fn walk(table: &'static Table, found: &mut Vec<&'static Table>) {
        if found.iter().any(|t| std::ptr::eq(*t, table)) {
            return;
        }
        found.push(table);
        for field in table.fields {
            match field.kind {
                Kind::Table(t) | Kind::Inline(t) | Kind::Tables(t, _) | Kind::Lines(t, _) => {
                    walk(t, found)
                }
                Kind::Forms(forms, _) => forms.iter().for_each(|t| walk(t, found)),
                _ => {}
            }
        }
    }
    let mut found = Vec::new();
    walk(&tables::ROOT, &mut found);
    found
}

#[test]
fn the_field_lists_are_sound() {
    let mut names: Vec<_> = every_table().iter().map(|t| t.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), every_table().len(), "tables are named apart");
    for table in every_table() {
        let mut keys: Vec<_> = table.keys().collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(
            keys.len(),
            table.fields.len(),
            "{} has a key twice",
            table.name
        );
        let headed = |f: &Field| matches!(f.kind, Kind::Table(_) | Kind::Tables(..));
        assert!(
            table.fields.is_sorted_by_key(headed),
            "{}: plain values come before sections",
            table.name
        );
        for field in table.fields {
            let name = format!("{}.{}", table.name, field.key);
            assert!(!field.doc.is_empty(), "{name}");
            match (field.kind, field.need) {
                (Kind::Number(_, range), Need::Or(n)) => assert!(range.contains(n), "{name}"),
                (Kind::Choice(words), Need::OrWord(w)) => assert!(words().contains(&w), "{name}"),
                (Kind::Text(longest), Need::OrWord(w)) => assert!(w.len() <= longest, "{name}"),
                (_, Need::Or(_) | Need::OrWord(_)) => panic!("{name} has a default it can't take"),
                _ => {}
            }
        }
    }
}

#[test]
fn schema_and_page_tell_every_key() {
    let (schema, page) = (schema(), fields_markdown());
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    assert_eq!(
        schema["properties"]["piece"]["properties"]["thickness_mm"]["maximum"],
        40.0
    );
    assert_eq!(schema["additionalProperties"], false);
    let text = schema.to_string();
    for table in every_table() {
        for key in table.keys() {
            assert!(text.contains(&format!("\"{key}\":")), "schema lacks {key}");
            assert!(page.contains(&format!("| `{key}` |")), "page lacks {key}");
        }
    }
}
