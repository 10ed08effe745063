//! That the sheet keeps numbers: a preview is the result, a share of flour moves flours alone, and no edit leaves a
//! study that can't be worked out. Checks against itself: arithmetic, no source.

use super::asked::{Asked, asked_by_need};
use super::sent::Sent;
use super::*;
use app::{App, Settings, StudyView};
use frame::{CellKind, Frame};
use report::Per;
use std::collections::BTreeMap;
use study::Figure;
use study::edit::Edit;

/// A book of its own with the demonstration in it.
async fn book() -> (tempfile::TempDir, App, Settings) {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(&folder.path().join("t.book")).await.unwrap();
    let settings = app.settings().await.unwrap();
    (folder, app, settings)
}

/// What the third column of a preview says of a row of a treatment; none where the row isn't there.
fn would_be(html: &str, treatment: &str, row: &str) -> Option<String> {
    let table = html
        .split("<caption>")
        .find(|t| t.starts_with(&format!("{treatment}<")))?;
    let begins = format!("<th scope=\"row\">{row}<");
    let row = table.split("<tr>").find(|r| r.starts_with(&begins))?;
    let cell = row.split("<td class=\"figure\">").nth(2)?;
    Some(cell.split("</td>").next()?.to_owned())
}

#[tokio::test]
async fn a_swap_does_what_its_preview_shows_to_the_digit() {
    let (_folder, app, settings) = book().await;
    let (who, thing) = (settings.who.as_str(), "spent-grain-bars");
    let before = app.study(who, thing).await.unwrap();
    let (mut lines, mut figures) = (0, 0);
    for (treatment, out, with, keep, share) in [
        (
            "control",
            "wheat_flour_soft",
            "barley_flour",
            formula::At::EqualMass,
            40.0,
        ),
        (
            "control",
            "wheat_flour_soft",
            "chickpea_flour",
            formula::At::EqualProtein,
            40.0,
        ),
        (
            "barley",
            "barley_flour",
            "chickpea_flour",
            formula::At::EqualMass,
            100.0,
        ),
    ] {
        for per in Per::ALL {
            let swap = [Edit::Swap {
                treatment: treatment.into(),
                out: out.into(),
                with: with.into(),
                keep,
                share_pct: share,
            }];
            let there = app.preview(who, thing, &swap).await.unwrap();
            let shown = preview::told(&before, &there, &settings, per).into_string();
            let stands = app.study(who, thing).await.unwrap();
            let after = app.edit(who, thing, stands.seen(), &swap).await.unwrap();
            let study = after.study.clone().unwrap();
            let frame = Frame::new(&after, &study, &settings, per, &[]);
            let pieces = pieces::pieces(&frame);
            for column in &frame.columns {
                for row in &frame.rows {
                    let Some(told) = would_be(&shown, column.name(), &row.material.name) else {
                        continue;
                    };
                    let text = frame.cell_text(column, row);
                    let text = if text.is_empty() {
                        "–".to_owned()
                    } else {
                        text
                    };
                    assert_eq!(told, text, "{treatment}: {out} for {with}, {}", row.id());
                    lines += 1;
                }
                for figure in Figure::ALL {
                    let about = figure.about();
                    if let Some(told) = would_be(&shown, column.name(), about.name) {
                        let cell = &pieces[&format!("f.{}.{}", about.key, column.id())];
                        assert!(
                            cell.starts_with(&told),
                            "{}: {told}, then {cell}",
                            about.key
                        );
                        figures += 1;
                    }
                }
            }
            app.undo(who, thing, after.seen()).await.unwrap();
        }
    }
    assert!(
        lines > 100 && figures > 100,
        "{lines} lines, {figures} figures"
    );
}

async fn type_in(app: &App, settings: &Settings, thing: &str, cell: &str, text: &str) -> Asked {
    let view = app.study(&settings.who, thing).await.unwrap();
    let sent = Sent {
        cells: BTreeMap::from([(cell.to_owned(), text.to_owned())]),
        ..Sent::default()
    };
    asked_by_need(&view, settings, Per::Flour, &sent)
}

/// Shares of flour of a treatment by material.
fn shares(view: &StudyView, settings: &Settings, treatment: &str) -> BTreeMap<String, f64> {
    let study = view.study.as_ref().unwrap();
    let frame = Frame::new(view, study, settings, Per::Flour, &[]);
    let column = frame.columns.iter().find(|c| c.id() == treatment).unwrap();
    let share = |l: &column::Line| (l.material.id.clone(), column.amount(Per::Flour, l).unwrap());
    column.lines.iter().map(share).collect()
}

#[tokio::test]
async fn a_share_of_flour_moves_flours_alone_though_water_is_the_balance() {
    let (_folder, app, settings) = book().await;
    let who = settings.who.as_str();
    let thing = app.create_named(who, "Oats").await.unwrap();
    let first = app.study(who, &thing).await.unwrap();
    let had = shares(&first, &settings, "control");
    for (cell, text, oat) in [
        ("c:control:dry:oat_flour", "30", 30.0),
        ("c:control:dry:oat_flour", "55", 55.0),
        ("c:control:dry:wheat_flour_soft", "60", 40.0),
    ] {
        let (edits, errors, _) = type_in(&app, &settings, &thing, cell, text).await;
        assert!(errors.is_empty(), "{errors:?}");
        let stands = app.study(who, &thing).await.unwrap();
        let view = app.edit(who, &thing, stands.seen(), &edits).await.unwrap();
        assert!(view.problems.is_empty(), "{:?}", view.problems);
        let now = shares(&view, &settings, "control");
        for id in ["salt", "sunflower_oil", "water"] {
            assert!(
                (now[id] - had[id]).abs() < 1e-3,
                "{id}: {} then {}",
                had[id],
                now[id]
            );
        }
        assert!((now["oat_flour"] - oat).abs() < 1e-3, "{now:?}");
        assert!(
            (now["wheat_flour_soft"] - (100.0 - oat)).abs() < 1e-3,
            "{now:?}"
        );
        let bake = |v: &StudyView| v.answers.compared[0].answer.bake.time_min;
        let change = bake(&view) / bake(&first) - 1.0;
        assert!(change.abs() < 0.15, "the bake changed by {change:.2}");
    }
    // Another line moves nothing but the total.
    let (edits, _, _) = type_in(&app, &settings, &thing, "c:control:fat:sunflower_oil", "12").await;
    let stands = app.study(who, &thing).await.unwrap();
    let view = app.edit(who, &thing, stands.seen(), &edits).await.unwrap();
    let now = shares(&view, &settings, "control");
    assert!(
        (now["sunflower_oil"] - 12.0).abs() < 1e-3 && (now["water"] - had["water"]).abs() < 1e-3
    );
    // All of the flour can't be had while another flour has a share.
    let (edits, errors, _) =
        type_in(&app, &settings, &thing, "c:control:dry:oat_flour", "100").await;
    assert!(edits.is_empty() && errors.len() == 1, "{errors:?}");
}

#[tokio::test]
async fn flours_of_every_treatment_of_the_demonstration_move_alone() {
    let (_folder, app, settings) = book().await;
    let (who, thing) = (settings.who.as_str(), "spent-grain-bars");
    let view = app.study(who, thing).await.unwrap();
    let study = view.study.clone().unwrap();
    let mut tried = 0;
    for treatment in &study.treatments {
        let flours = treatment.formula.lines().iter().filter(|l| l.is_flour);
        let had = shares(&view, &settings, &treatment.id);
        for line in flours {
            let id = line.material.id.as_str();
            if had[id] > 70.0 {
                continue;
            }
            let cell = format!("c:{}:{}:{id}", treatment.id, line.stage.word());
            let wanted = had[id] + 10.0;
            let (edits, errors, _) =
                type_in(&app, &settings, thing, &cell, &format!("{wanted:.3}")).await;
            assert!(errors.is_empty(), "{cell}: {errors:?}");
            let after = app.preview(who, thing, &edits).await.unwrap();
            let now = shares(&after, &settings, &treatment.id);
            assert!(
                (now[id] - wanted).abs() < 0.01,
                "{cell}: {} for {wanted}",
                now[id]
            );
            for (other, share) in &had {
                let is_flour = treatment
                    .formula
                    .lines()
                    .iter()
                    .any(|l| l.is_flour && l.material.id == *other);
                if !is_flour && other != "water" {
                    assert!(
                        (now[other] - share).abs() < 0.01,
                        "{cell}: {other} {share}, then {}",
                        now[other]
                    );
                }
            }
            tried += 1;
        }
    }
    assert!(tried >= 4, "{tried}");
}

#[tokio::test]
async fn no_edit_leaves_a_study_that_cannot_be_worked_out() {
    let (_folder, app, settings) = book().await;
    let who = settings.who.as_str();
    let thing = app.create_named(who, "Oats").await.unwrap();
    let before = app.study(who, &thing).await.unwrap();
    let flour = Edit::SetField {
        treatment: Some("control".into()),
        path: "percent_of".into(),
        value: Some(study::edit::Put::Text("flour".into())),
    };
    let too_much = Edit::SetAmount {
        treatment: "control".into(),
        material: "salt".into(),
        amount: 90.0,
    };
    for edit in [flour, too_much] {
        let told = app
            .edit(who, &thing, before.seen(), std::slice::from_ref(&edit))
            .await;
        let told = told.unwrap_err().to_string();
        assert!(told.contains("nothing was changed"), "{edit:?}: {told}");
        let after = app.study(who, &thing).await.unwrap();
        assert_eq!(after.text, before.text);
    }
}

/// What is typed in a cell is what the cell shows afterwards, on every basis and for every
/// treatment of the demonstration (checks against itself: arithmetic, no source).
#[tokio::test]
async fn a_typed_amount_is_shown_afterwards() {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(&folder.path().join("t.book")).await.unwrap();
    let settings = app.settings().await.unwrap();
    let thing = "spent-grain-bars";
    let view = app.study(&settings.who, thing).await.unwrap();
    let study = view.study.clone().unwrap();
    let mut tried = 0;
    for per in Per::ALL {
        let frame = Frame::new(&view, &study, &settings, per, &[]);
        for column in &frame.columns {
            let typed_in = frame
                .rows
                .iter()
                .filter(|r| frame.cell_kind(column, r) == CellKind::Typed);
            for row in typed_in
                .filter(|r| ["salt", "chickpea_flour", "spent_grain", "molasses"].contains(&r.id()))
            {
                let wanted = frame.cell_amount(column, row).unwrap_or(1.5) * 1.25;
                let name = edits::cell_name(column.id(), row);
                let cells = BTreeMap::from([(name.clone(), format!("{wanted:.4}"))]);
                let sent = Sent {
                    cells,
                    ..Sent::default()
                };
                let (edits, errors, _) = asked_by_need(&view, &settings, per, &sent);
                assert!(errors.is_empty(), "{name} {per:?}: {errors:?}");
                let after = app.preview(&settings.who, thing, &edits).await.unwrap();
                let study = after.study.clone().unwrap();
                let after = Frame::new(&after, &study, &settings, per, &[]);
                let column = after
                    .columns
                    .iter()
                    .find(|c| c.id() == column.id())
                    .unwrap();
                let shown = after.cell_amount(column, row).unwrap();
                // On dry matter the salts of the water that the need adds count as well.
                let near = if per == Per::DryMatter && column.follows_need() {
                    1e-3 * wanted
                } else {
                    1e-4
                };
                assert!(
                    (shown - wanted).abs() < near,
                    "{name} {per:?}: typed {wanted}, shown {shown}"
                );
                tried += 1;
            }
        }
    }
    assert!(tried > 60, "{tried}");
}

#[tokio::test]
async fn the_shape_holds_while_amounts_change() {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(&folder.path().join("t.book")).await.unwrap();
    let settings = app.settings().await.unwrap();
    let thing = "spent-grain-bars";
    let shape_of = |view: &StudyView| {
        let study = view.study.clone().unwrap();
        shape(&Frame::new(view, &study, &settings, Per::Mix, &[]))
    };
    let before = app.study(&settings.who, thing).await.unwrap();
    let set = |treatment: &str, material: &str, amount: f64| Edit::SetAmount {
        treatment: treatment.into(),
        material: material.into(),
        amount,
    };
    let amount = app
        .preview(
            &settings.who,
            thing,
            &[set("rice_chickpea", "chickpea_flour", 29.0)],
        )
        .await
        .unwrap();
    assert_eq!(shape_of(&before), shape_of(&amount));
    let line = app
        .preview(
            &settings.who,
            thing,
            &[set("control", "egg_white_dried", 1.0)],
        )
        .await
        .unwrap();
    assert_ne!(shape_of(&before), shape_of(&line));
}
