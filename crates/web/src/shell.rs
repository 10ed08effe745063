//! What every page has around it: head, way through the rooms, the state of a study, foot.

use crate::assets::{FIRST_FONTS, address};
use crate::fields::Fields;
use crate::wants::Wants;
use app::{Seen, Settings, StudyView};
use axum::response::Html;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The pages of a study, in the order they are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Room {
    /// The study sheet.
    Sheet,
    /// The piece.
    Piece,
    /// The bake.
    Bake,
    /// After the oven.
    After,
    /// The line.
    Line,
    /// The label.
    Label,
    /// The trials.
    Trials,
    /// The own oven.
    OwnOven,
    /// What to try next.
    Next,
    /// The history.
    History,
}

impl Room {
    pub(crate) const ALL: [Self; 10] = [
        Self::Sheet,
        Self::Piece,
        Self::Bake,
        Self::After,
        Self::Line,
        Self::Label,
        Self::Trials,
        Self::OwnOven,
        Self::Next,
        Self::History,
    ];

    /// The table of rooms: the word on the way, in forms and in the address, and the script.
    const fn row(self) -> (&'static str, Option<&'static str>) {
        match self {
            Self::Sheet => ("sheet", Some("sheet.js")),
            Self::Piece => ("piece", Some("section.js")),
            Self::Bake => ("bake", Some("bake.js")),
            Self::After => ("after", Some("section.js")),
            Self::Line => ("line", None),
            Self::Label => ("label", None),
            Self::Trials => ("trials", Some("trials.js")),
            Self::OwnOven => ("own-oven", Some("own-oven.js")),
            Self::Next => ("next", None),
            Self::History => ("history", None),
        }
    }

    /// The word on the way and in forms.
    pub(crate) const fn word(self) -> &'static str {
        self.row().0
    }

    /// Its name on the way and in titles.
    pub(crate) fn name(self) -> String {
        self.word().replace('-', " ")
    }

    /// The room that a word names; the sheet for any other.
    pub(crate) fn of(word: &str) -> Self {
        Self::ALL
            .into_iter()
            .find(|r| r.word() == word)
            .unwrap_or(Self::Sheet)
    }

    /// Its address in a study.
    pub(crate) fn address(self, thing: &str) -> String {
        match self {
            Self::Sheet => format!("/study/{thing}"),
            _ => format!("/study/{thing}/{}", self.word()),
        }
    }
}

/// A page outside of studies, whose use the text about the studies tells.
pub(crate) fn page(title: &str, body: &Markup) -> Html<String> {
    page_of("studies", title, body)
}

/// A page outside of studies, and the word of the text that tells how it is used.
pub(crate) fn page_of(using: &str, title: &str, body: &Markup) -> Html<String> {
    page_with(using, title, None, body)
}

/// The same with a script of its own.
pub(crate) fn page_with(
    using: &str,
    title: &str,
    script: Option<&str>,
    body: &Markup,
) -> Html<String> {
    let nav = html! { nav .rooms aria-label="Rooms" { (general(title)) } (told_in(using)) };
    document(title, title, script, &nav, body)
}

/// The way to the text that tells how a page is used.
fn told_in(using: &str) -> Markup {
    html! { a .told-in href=(crate::pages::using::address(using)) { "How this page is used" } }
}

/// A page that stands alone, such as one that tells what went wrong.
pub(crate) fn plain(title: &str, body: &Markup) -> Html<String> {
    page(title, body)
}

/// A page of a study.
pub(crate) fn study_page(
    view: &StudyView,
    room: Room,
    settings: &Settings,
    query: &Fields,
    body: &Markup,
) -> Html<String> {
    let title = title_of(view);
    let head = format!("{title} · {}", standing(view));
    let nav = html! {
        nav .rooms aria-label="Rooms" { (general("")) }
        (told_in(room.word()))
        nav .rooms .in-study aria-label="Pages of this study" {
            @for r in Room::ALL {
                a href=(r.address(&view.thing)) aria-current=[(r == room).then_some("page")] { (r.name()) }
            }
        }
    };
    let main = html! { (study_main(view, room, settings, query, body)) };
    document(
        &format!("{title}, {}", room.name()),
        &head,
        room.row().1,
        &nav,
        &main,
    )
}

/// What stands inside `<main>` on a page of a study: its state, then the page. `query` is what the page is about, to
/// come back to when a change is undone.
pub(crate) fn study_main(
    view: &StudyView,
    room: Room,
    settings: &Settings,
    query: &Fields,
    body: &Markup,
) -> Markup {
    html! {
        div .study-head #study data-thing=(view.thing) data-base=(view.base) data-counter=(view.counter) data-room=(room.word())
            data-draft=[view.draft.as_ref().map(|d| d.when.as_str())] {
            p .study-name { (title_of(view)) }
            (state(view, room, settings, query))
        }
        (body)
    }
}

fn title_of(view: &StudyView) -> String {
    let name = view.written.name();
    name.unwrap_or(&view.newest.title).to_owned()
}

/// Revision and hash for the printed head, or that it isn't saved.
fn standing(view: &StudyView) -> String {
    let hash: String = view.newest.hash.chars().take(12).collect();
    match &view.draft {
        Some(_) => format!("draft over revision {} · not saved", view.base),
        None if view.base == view.newest.number => format!("revision {} · {hash}", view.base),
        None => format!("revision {} of {}", view.base, view.newest.number),
    }
}

/// What is saved and what isn't, and what can be done about it.
fn state(view: &StudyView, room: Room, settings: &Settings, query: &Fields) -> Markup {
    let to = |verb: &str| format!("/study/{}/{verb}", view.thing);
    let hidden = html! {
        (seen(view))
        input type="hidden" name="room" value=(room.word());
        @for (name, value) in &query.0 { input type="hidden" name={ "q." (name) } value=(value); }
    };
    html! {
        div .state role="status" aria-live="polite" {
            @match &view.draft {
                Some(draft) => {
                    span .unsaved { "not saved: draft of " (settings.dates.written(&draft.when)) ", over revision " (draft.base) }
                    @if draft.stale {
                        " " a .stale href=(to("conflict")) { "revision " (view.newest.number) " was saved meanwhile: compare" }
                    }
                }
                None => {
                    span .saved { "saved: revision " (view.newest.number) ", " (settings.dates.written(&view.newest.when)) ", " (view.newest.who) }
                }
            }
        }
        div .deeds .no-print {
            form method="post" action=(to("undo")) { (hidden) button disabled[!view.can_undo] data-key="undo" { "Undo" } }
            form method="post" action=(to("redo")) { (hidden) button disabled[!view.can_redo] data-key="redo" { "Redo" } }
            @if view.draft.is_some() {
                form .save method="post" action=(to("save")) {
                    (hidden)
                    label { span .unseen { "reason" } input name="why" maxlength="2000" placeholder="why? (optional)" autocomplete="off"; }
                    button .main { "Save" }
                }
                form method="get" action=(to("discard")) {
                    input type="hidden" name="room" value=(room.word());
                    @for (name, value) in &query.0 { input type="hidden" name={ "q." (name) } value=(value); }
                    button { "Discard draft…" }
                }
            }
        }
    }
}

/// What a form on a page has seen: the revision, and the counter of the unsaved work.
pub(crate) fn seen(view: &StudyView) -> Markup {
    looked_at(&view.seen())
}

/// The same, of a page that shows no study.
pub(crate) fn looked_at(seen: &Seen) -> Markup {
    html! {
        input type="hidden" name="base" value=(seen.base);
        @if let Some(counter) = seen.counter { input type="hidden" name="counter" value=(counter); }
    }
}

/// A page of the tablets' door, where there are no other rooms.
pub(crate) fn alone(title: &str, body: &Markup) -> Html<String> {
    document_from("/bench", title, title, None, &html! {}, body)
}

/// A page of the bench, on either door.
pub(crate) fn bench(wants: Wants, title: &str, body: &Markup) -> Html<String> {
    let script = Some("bench.js");
    if wants == Wants::Alone {
        return document_from("/bench", title, title, script, &html! {}, body);
    }
    let nav = html! { nav .rooms aria-label="Rooms" { (general("Bench")) } (told_in("bench")) };
    document(title, title, script, &nav, body)
}

fn general(here: &str) -> Markup {
    html! {
        @for (href, name) in [("/", "Studies"), ("/materials", "Materials"), ("/bench", "Bench"), ("/settings", "Settings")] {
            a href=(href) aria-current=[(name == here).then_some("page")] { (name) }
        }
    }
}

fn document(
    title: &str,
    running_head: &str,
    script: Option<&str>,
    nav: &Markup,
    body: &Markup,
) -> Html<String> {
    document_from("/", title, running_head, script, nav, body)
}

/// The whole page; its mark leads to `home`.
fn document_from(
    home: &str,
    title: &str,
    running_head: &str,
    script: Option<&str>,
    nav: &Markup,
    body: &Markup,
) -> Html<String> {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                (PreEscaped(r#"<meta charset="utf-8"/>"#))
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Hardtack" }
                link rel="icon" href=(address("favicon.svg")) type="image/svg+xml";
                @for font in FIRST_FONTS { link rel="preload" href=(address(font)) as="font" type="font/woff2" crossorigin; }
                link rel="stylesheet" href=(address("style.css"));
                script type="module" src=(address("live.js")) {}
                @if let Some(script) = script { script type="module" src=(address(script)) {} }
            }
            body {
                a .skip href="#main" { "To the content" }
                header .top .no-print { a .mark href=(home) { "Hardtack" } (nav) }
                div .print-head { (running_head) }
                main .sheet #main { (body) }
                div .said #said role="alert" {}
            }
        }
    };
    Html(page.into_string())
}
