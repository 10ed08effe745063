//! What opens over the sheet: a treatment, a row, a swap, the target, the keys.
//!
//! Without `live` they leave out what follows from the numbers. Each is a dialog that a button of the page opens without script; its forms work without script
//! as well.

use super::column::Column;
use super::frame::{Frame, Row};
use formula::{At, shelf};
use maud::{Markup, html};
use study::Figure;
use study::compare::figure::Part;
use study::model::Place;

pub fn dialogs(f: &Frame, live: bool) -> Markup {
    html! {
        form #cells method="post" action={ (f.path()) "/sheet" } {
            (base(f, live))
            input type="hidden" name="act" value="cells";
            button .no-script type="submit" { "Work it out" }
        }
        @for (i, c) in f.columns.iter().enumerate() { (treatment(f, c, i, live)) }
        @for row in &f.rows { (row_dialog(f, row, live)) }
        (swap(f, live))
        (add_treatment(f, live))
        (target(f, live))
        (paste())
        (watch(f))
        (keys())
        datalist #materials { @for name in materials(f) { option value=(name) {} } }
    }
}

/// Every material by the name that people know: the study's own first.
fn materials(f: &Frame) -> Vec<String> {
    let own = f.study.materials.values().map(|m| m.name.clone());
    let rest = shelf::shelf()
        .iter()
        .filter(|m| !f.study.materials.contains_key(&m.id));
    own.chain(rest.map(|m| m.name.clone())).collect()
}

/// What a form tells of what was seen. The counter goes up with every change, so it is no part of the sheet's shape.
pub fn base(f: &Frame, live: bool) -> Markup {
    html! {
        input type="hidden" name="base" value=(f.view.base);
        @if live { input type="hidden" name="counter" value=(f.view.counter); }
        input type="hidden" name="room" value="sheet";
        input type="hidden" name="per" value=(super::head::word(f.per));
        @if !f.extra.is_empty() { input type="hidden" name="rows" value=(f.extra.join(",")); }
    }
}

/// A form of one edit.
fn edit(f: &Frame, live: bool, edit: &str, fields: &[(&str, &str)], body: &Markup) -> Markup {
    html! {
        form .edit method="post" action={ (f.path()) "/sheet" } {
            (base(f, live))
            input type="hidden" name="edit" value=(edit);
            @for (name, value) in fields { input type="hidden" name=(name) value=(value); }
            (body)
            p .word-back role="alert" {}
        }
    }
}

fn dialog(id: &str, title: &str, body: &Markup) -> Markup {
    html! {
        dialog .over id=(id) popover="auto" aria-label=(title) {
            div .over-head { h2 { (title) } button .quiet type="button" popovertarget=(id) popovertargetaction="hide" { "Close" } }
            (body)
        }
    }
}

/// The water that would be given where it follows the need now.
pub fn given(f: &Frame, c: &Column) -> String {
    super::pieces::plain(f, c.water_per_100())
}

fn treatment(f: &Frame, c: &Column, i: usize, live: bool) -> Markup {
    let id = c.id();
    let others: Vec<&Column> = f.columns.iter().skip(1).collect();
    let at = others.iter().position(|o| o.id() == id);
    let of = [("treatment", id)];
    let body = html! {
        (edit(f, live, "rename_treatment", &of, &html! {
            label { span { "name" } input type="text" name="name" value=(c.name()) maxlength="200" required autocomplete="off"; }
            button { "Rename" }
        }))
        (edit(f, live, "set_note", &of, &html! {
            label { span { "note" } textarea name="note" rows="3" maxlength="4000" { (c.treatment.note) } }
            button { "Keep the note" }
        }))
        @if c.follows_need() {
            @let has = c.treatment.formula.lines().iter().any(|l| l.material.is_water());
            (edit(f, live, "set_water", &[("treatment", id), ("water", "given")], &html! {
                p .second { "The water follows the predicted need." }
                @if !has { label { span { "kg per 100 kg of the rest" } input type="text" inputmode="decimal" name="amount" value=[live.then(|| given(f, c))] data-live={ "w:" (id) } autocomplete="off"; } }
                button { "Give the water instead" }
            }))
        } @else {
            (edit(f, live, "set_water", &[("treatment", id), ("water", "need")], &html! {
                p .second { "The water is given in the formula." }
                button { "Let the water follow the need" }
            }))
        }
        div .deeds {
            @if let Some(at) = at {
                @if at > 0 { (edit(f, live, "move_treatment", &[("treatment", id), ("before", others[at - 1].id())], &html! { button { "← Move left" } })) }
                @if at + 1 < others.len() {
                    @let before = others.get(at + 2).map_or("", |o| o.id());
                    (edit(f, live, "move_treatment", &[("treatment", id), ("before", before)], &html! { button { "Move right →" } }))
                }
            }
            @if i > 0 {
                (edit(f, live, "set_control", &of, &html! { button { "Make it the control" } }))
                (edit(f, live, "remove_treatment", &of, &html! { button { "Take it out" } }))
            }
        }
        (edit(f, live, "add_treatment", &[("from", id)], &html! {
            label { span { "another that starts from this one" } input type="text" name="name" placeholder="its name" maxlength="200" required autocomplete="off"; }
            button { "Add treatment" }
        }))
    };
    dialog(&format!("t-{id}"), c.name(), &body)
}

fn row_dialog(f: &Frame, row: &Row, live: bool) -> Markup {
    let id = row.id();
    let having: Vec<&Column> = f
        .columns
        .iter()
        .filter(|c| c.line(row.stage, id).is_some())
        .collect();
    let deed = |deed: &str, words: &str| {
        html! {
            form .edit method="post" action={ (f.path()) "/sheet" } {
                (base(f, live))
                input type="hidden" name="act" value="row";
                input type="hidden" name="deed" value=(deed);
                input type="hidden" name="material" value=(id);
                button { (words) }
                p .word-back role="alert" {}
            }
        }
    };
    let full: Vec<&&Column> = having
        .iter()
        .filter(|c| c.full && !(c.follows_need() && row.material.is_water()))
        .collect();
    let body = html! {
        p .second { (row.material.source.grade.word()) ": " (row.material.source.text) " " a href={ "/material/" (id) } { "Composition and price" } }
        div .deeds { (deed("up", "↑ Move up")) (deed("down", "↓ Move down")) @if !having.is_empty() { (deed("out", "Take out of all")) } }
        @if !full.is_empty() {
            h3 { "Balance" }
            p .second { "The balance takes what the other lines leave of 100." }
            div .deeds {
                @for c in full {
                    @if c.treatment.formula.balance() == Some(id) {
                        (edit(f, live, "set_balance", &[("treatment", c.id())], &html! { button { "No longer in " (c.name()) } }))
                    } @else {
                        (edit(f, live, "set_balance", &[("treatment", c.id()), ("material", id)], &html! { button { "In " (c.name()) } }))
                    }
                }
            }
        }
        @if !having.is_empty() { p { button .quiet .scripted type="button" data-do="swap" data-out=(id) { "Swap it for another…" } } }
    };
    dialog(&format!("r-{}", row.key()), &row.material.name, &body)
}

fn swap(f: &Frame, live: bool) -> Markup {
    let chosen = f.columns.get(1).or(f.columns.first());
    let rows: Vec<&Row> = f.rows.iter().filter(|r| !r.material.is_water()).collect();
    let first = rows
        .iter()
        .find(|r| chosen.is_some_and(|c| c.line(r.stage, r.id()).is_some()))
        .map(|r| r.key());
    let body = html! {
        form .edit .swap method="post" action={ (f.path()) "/sheet" } {
            (base(f, live))
            input type="hidden" name="edit" value="swap";
            div .fields {
                label { span { "in" } select name="treatment" { @for (i, c) in f.columns.iter().enumerate() { option value=(c.id()) selected[i == 1] { (c.name()) } } } }
                label { span { "out goes" } select name="out" { @for row in &rows { option value=(row.id()) selected[first.as_ref() == Some(&row.key())] { (row.material.name) } } } }
                label { span { "in comes" } input type="text" name="with" list="materials" required autocomplete="off" placeholder="a material"; }
                label { span { "at" } select name="keep" { @for at in At::ALL { option value=(at.word()) { (at.word()) } } } }
                label { span { "share of the line, %" } input type="text" inputmode="decimal" name="share_pct" value="100" autocomplete="off"; }
            }
            div .deeds {
                button name="act" value="preview" { "Show what would change" }
                button .main name="act" value="edit" { "Swap" }
            }
            p .word-back role="alert" {}
            div .preview aria-live="polite" {}
        }
    };
    dialog("swap", "Swap a material", &body)
}

fn add_treatment(f: &Frame, live: bool) -> Markup {
    let body = edit(
        f,
        live,
        "add_treatment",
        &[],
        &html! {
            label { span { "starts from" } select name="from" { @for c in &f.columns { option value=(c.id()) { (c.name()) } } } }
            label { span { "name" } input type="text" name="name" maxlength="200" required autocomplete="off"; }
            button .main { "Add treatment" }
        },
    );
    dialog("add-treatment", "Add a treatment", &body)
}

fn target(f: &Frame, live: bool) -> Markup {
    let target = f.study.target;
    let moisture = super::pieces::plain(f, target.moisture.percent());
    let body = html! {
        (edit(f, live, "set_target", &[], &html! {
            label { span { "mean moisture, %" } input type="text" inputmode="decimal" name="moisture_pct" value=(moisture) autocomplete="off"; }
            label { span { "where it holds" } select name="at" { @for place in Place::ALL { option value=(place.written()) selected[place == target.at] { (place.written()) } } } }
            button .main { "Aim at this" }
        }))
        (edit(f, live, "set_field", &[("path", "study.question")], &html! {
            label { span { "the question" } input type="text" name="value" value=(f.study.question) maxlength="400" autocomplete="off"; }
            button { "Keep the question" }
        }))
        (edit(f, live, "set_field", &[("path", "study.target.kill_log10")], &html! {
            label {
                span { "kill that has to be shown, log₁₀ (none when empty)" }
                input type="text" inputmode="decimal" name="value" autocomplete="off" value=(target.kill_log10.map(|k| super::pieces::plain(f, k)).unwrap_or_default());
            }
            button { "Ask for this kill" }
        }))
    };
    dialog("target", "Target and question", &body)
}

/// A list or a block of amounts from elsewhere, and what it is taken for.
fn paste() -> Markup {
    let body = html! {
        form .paste-in {
            label { span { "names and amounts, or amounts alone, from a spreadsheet, a text or a message" } textarea name="block" rows="8" maxlength="200000" required {} }
            button .main { "Read it" }
            p .word-back role="alert" {}
        }
        div .asked {}
    };
    dialog("paste", "Paste a list", &body)
}

/// The choice of answers that stay in sight.
fn watch(f: &Frame) -> Markup {
    let watched = f.watched();
    let body = html! {
        form .edit .watch method="post" action={ (f.path()) "/sheet" } {
            input type="hidden" name="per" value=(super::head::word(f.per));
            input type="hidden" name="act" value="watch";
            p .second { "Four to six of them stand under the treatments’ names, in every study of yours." }
            @for part in Part::ALL {
                fieldset {
                    legend { (part.word()) }
                    @for figure in Figure::ALL.into_iter().filter(|x| x.about().part == part) {
                        @let about = figure.about();
                        label .tick { input type="checkbox" name={ "watch:" (about.key) } checked[watched.contains(&figure)]; " " (about.name) }
                    }
                }
            }
            button .main { "Keep these in sight" }
            p .word-back role="alert" {}
        }
    };
    dialog("watch", "Answers in sight", &body)
}

fn keys() -> Markup {
    const KEYS: [(&str, &str); 11] = [
        (
            "arrows",
            "from cell to cell; inside a number once you are typing",
        ),
        ("Enter, Shift + Enter", "keep it and go down, up"),
        ("Esc", "put back what stood there"),
        ("Delete, then Enter", "take the line out"),
        ("Shift + arrows", "choose several cells"),
        (
            "Ctrl + C, Ctrl + V",
            "copy to and paste from a spreadsheet, names of materials and all",
        ),
        (
            "Ctrl + C on a marked figure",
            "copy it with its unit, such as 14.5 min",
        ),
        ("Ctrl + Z, Ctrl + Shift + Z", "undo, redo"),
        ("Ctrl + S", "save with a reason"),
        ("Alt + Enter", "open the treatment or the row of a cell"),
        ("F1 or ?", "this list"),
    ];
    dialog(
        "keys",
        "Keys",
        &html! { dl .keys { @for (key, does) in KEYS { dt { (key) } dd { (does) } } } },
    )
}
