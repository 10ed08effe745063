//! The study sheet: numbers typed, treatments made, materials swapped, by mouse and by keys.

use crate::desk::{BARS, Desk, LIVE, at_desk, cell, part};
use thirtyfour::prelude::*;

const SALT: (&str, &str, &str) = ("control", "dry", "salt");

fn salt() -> String {
    cell(SALT.0, SALT.1, SALT.2)
}

/// Something that follows from the numbers, as shown.
async fn shown(desk: &Desk, key: &str) -> String {
    desk.text(&part(key)).await
}

async fn until_differs(desk: &Desk, key: &str, from: &str) {
    let (place, from) = (part(key), serde_json::json!(from));
    desk.until(&format!(
        "document.querySelector(\"{place}\").textContent.trim() !== {from}"
    ))
    .await;
}

#[test]
fn from_the_first_start_to_a_changed_number_and_back() {
    at_desk(|desk| async move {
        // A folder that wasn't there: the book is made, with the demonstration in it.
        desk.open("/").await;
        assert_eq!(desk.text("h1").await, "Studies");
        desk.click(".studies a.title").await;
        desk.until(LIVE).await;
        assert!(desk.text(".state").await.starts_with("saved: revision 1"));
        assert!(
            desk.text(".study-table caption")
                .await
                .contains("side by side")
        );

        let (flour, bake) = (
            cell("control", "dry", "wheat_flour_soft"),
            "f.bake.time_min.control",
        );
        let (was, gap) = (shown(&desk, bake).await, "d.bake.time_min.barley");
        let (had, gap_was) = (desk.value(&flour).await, shown(&desk, gap).await);
        desk.fill(&flour, "44").await;
        desk.until("document.querySelector('.unsaved')?.textContent.startsWith('not saved')")
            .await;
        until_differs(&desk, bake, &was).await;
        let (is, gap_is) = (shown(&desk, bake).await, shown(&desk, gap).await);
        assert_ne!(gap_was, gap_is, "the difference from the control");
        assert_eq!(
            desk.value(&flour).await,
            "44",
            "what is typed stays as typed"
        );

        desk.keys(Key::Control + "z").await;
        desk.until_reads(&flour, &had).await;
        until_differs(&desk, bake, &is).await;
        assert_eq!(shown(&desk, bake).await, was);
        desk.keys(Key::Control + Key::Shift + "z").await;
        until_differs(&desk, bake, &was).await;
        assert_eq!(shown(&desk, bake).await, is);

        // Esc puts back what stood there before, though the draft has the new number already.
        desk.fill(&salt(), "9").await;
        desk.until("document.querySelector(\"[data-cell='c:control:dry:salt']\").defaultValue.startsWith('9')")
            .await;
        desk.keys(Key::Escape).await;
        desk.until_reads(&salt(), "0.30").await;
        desk.until("document.getElementById('live-state').textContent === ''")
            .await;
        desk.until_reads(&salt(), "0.30").await;

        // A figure opens into how it comes about.
        desk.click("#row-bake\\.time_min summary").await;
        desk.until("document.querySelector(\"[data-p='w.bake.time_min']\").innerText.length > 100")
            .await;
        // Amounts told per cent of flour, in place.
        desk.click("a[data-per=flour]").await;
        desk.until("document.querySelector('a[data-per=flour]').getAttribute('aria-current') && location.search.includes('per=flour')")
            .await;
    });
}

#[test]
fn the_keyboard_alone_leads_from_the_list_to_a_saved_change() {
    at_desk(|desk| async move {
        desk.open("/").await;
        tab_to(&desk, "document.activeElement.matches('a.title')").await;
        desk.keys(Key::Enter).await;
        desk.until(LIVE).await;
        tab_to(&desk, "document.activeElement.matches('[data-cell]')").await;
        // Down and right with the arrows, from the first cell to the salt of the control.
        let at = |css: String| format!("document.activeElement.matches(\"{css}\")");
        for _ in 0..5 {
            desk.keys(Key::Down).await;
        }
        desk.until(&at(salt())).await;
        desk.keys(Key::Right).await;
        desk.keys(Key::Left).await;
        desk.until(&at(salt())).await;
        desk.keys("0.45").await;
        desk.keys(Key::Enter).await;
        desk.until(&at(cell("control", "dry", "baking_soda"))).await;
        desk.until("document.querySelector('.unsaved')").await;
        desk.keys(Key::Shift + Key::Enter).await;
        desk.until(&at(salt())).await;
        // Alt and Enter open the treatment, Esc closes it and is back in the cell.
        desk.keys(Key::Alt + Key::Enter).await;
        desk.until("document.querySelector('#t-control:popover-open')")
            .await;
        desk.keys(Key::Escape).await;
        desk.until("!document.querySelector(':popover-open')").await;
        desk.until(&at(salt())).await;
        desk.keys(Key::Control + "s").await;
        desk.until("document.activeElement.name === 'why'").await;
        desk.keys("more salt, by keys").await;
        desk.keys(Key::Enter).await;
        desk.until("document.querySelector('.saved')?.textContent.startsWith('saved: revision 2')")
            .await;
        assert_eq!(desk.value(&salt()).await.trim_end_matches('0'), "0.45");
    });
}

/// Goes on by the Tab key until a condition holds.
async fn tab_to(desk: &Desk, condition: &str) {
    for _ in 0..80 {
        desk.keys(Key::Tab).await;
        if desk.ask::<bool>(condition).await {
            // Where the focus is has to be seen.
            let seen: bool = desk
                .ask("(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle !== 'none' || s.boxShadow !== 'none'; })()")
                .await;
            assert!(seen, "no mark of the focus: {condition}");
            return;
        }
    }
    panic!("the Tab key never gets to {condition}");
}

#[test]
fn treatments_are_made_moved_noted_swapped_and_taken_out() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let heads =
            "[...document.querySelectorAll('.study-table thead .name')].map((b) => b.textContent)";
        let before: Vec<String> = desk.ask(heads).await;
        desk.press(".tools", "Add treatment…").await;
        desk.choose("#add-treatment [name=from]", "barley").await;
        desk.fill("#add-treatment [name=name]", "Barley, less oil")
            .await;
        desk.press("#add-treatment", "Add treatment").await;
        desk.until(&format!("({heads}).includes('Barley, less oil')"))
            .await;
        let own: String = desk
            .ask("[...document.querySelectorAll('.study-table thead .name')].find((b) => b.textContent === 'Barley, less oil').getAttribute('popovertarget').slice(2)")
            .await;
        desk.fill(&cell(&own, "fat", "sunflower_oil"), "3").await;
        desk.keys(Key::Enter).await;
        desk.until(&format!(
            "document.querySelector(\"{}\").textContent.trim() !== ''",
            part(&format!("c.{own}.fat.sunflower_oil"))
        ))
        .await;

        // Its note, and one place to the left.
        let dialog = format!("#t-{own}");
        desk.click(&format!("[popovertarget=t-{own}].name")).await;
        desk.fill(&format!("{dialog} [name=note]"), "snaps better, we think")
            .await;
        desk.press(&dialog, "Keep the note").await;
        desk.until("!document.querySelector(':popover-open')").await;
        desk.click(&format!("[popovertarget=t-{own}].name")).await;
        desk.until(&format!(
            "document.querySelector('{dialog} [name=note]').value === 'snaps better, we think'"
        ))
        .await;
        let order = |names: &[String]| names.iter().position(|n| n == "Barley, less oil");
        let at = order(&desk.ask::<Vec<String>>(heads).await).unwrap();
        desk.press(&dialog, "← Move left").await;
        desk.until(&format!(
            "({heads}).indexOf('Barley, less oil') === {}",
            at - 1
        ))
        .await;

        // A swap with a look at it first, on each of the four equalities.
        desk.press(".tools", "Swap…").await;
        let chickpea = cell("rice_chickpea", "dry", "chickpea_flour");
        let had = desk.value(&chickpea).await;
        // A treatment that starts from this one would have nothing to start from: refused, and why.
        desk.choose("#swap [name=treatment]", "control").await;
        desk.choose("#swap [name=out]", "wheat_flour_soft").await;
        desk.fill("#swap [name=with]", "chickpea_flour").await;
        desk.press("#swap", "Show what would change").await;
        desk.until(
            "['.preview', '.word-back'].some((place) => document.querySelector(`#swap ${place}`).innerText.includes('Barley for wheat'))",
        )
        .await;
        desk.choose("#swap [name=treatment]", "rice_chickpea").await;
        desk.choose("#swap [name=out]", "chickpea_flour").await;
        desk.fill("#swap [name=with]", "barley_flour").await;
        let mut would = std::collections::BTreeSet::new();
        let ways: Vec<String> = desk
            .ask("[...document.querySelectorAll('#swap [name=keep] option')].map((o) => o.value)")
            .await;
        assert_eq!(ways.len(), 4, "{ways:?}");
        for way in &ways {
            desk.choose("#swap [name=keep]", way).await;
            desk.run::<bool>(
                "document.querySelector('#swap .preview').replaceChildren(); return true;",
                &[],
            )
            .await;
            desk.press("#swap", "Show what would change").await;
            desk.until("document.querySelector('#swap .preview').innerText.includes('would be') || document.querySelector('#swap .word-back').innerText")
                .await;
            would.insert(desk.ask::<String>("document.querySelector('#swap .preview').innerText + document.querySelector('#swap .word-back').innerText").await);
        }
        assert_eq!(would.len(), 4, "each equality gives an answer of its own");
        desk.choose("#swap [name=keep]", &ways[0]).await;
        desk.press("#swap", "Swap").await;
        desk.until("!document.querySelector(':popover-open')").await;
        desk.until(&format!("!document.querySelector(\"{chickpea}\")"))
            .await;
        // As much as went out, but for the water that follows the need of the new flour.
        let came: f64 = desk
            .value(&cell("rice_chickpea", "dry", "barley_flour"))
            .await
            .parse()
            .unwrap();
        assert!((came - had.parse::<f64>().unwrap()).abs() < 2.0, "{came}");
        desk.keys(Key::Control + "z").await;
        desk.until_reads(&chickpea, &had).await;

        // Out again.
        desk.click(&format!("[popovertarget=t-{own}].name")).await;
        desk.press(&dialog, "Take it out").await;
        desk.until(&format!("!({heads}).includes('Barley, less oil')"))
            .await;
        assert_eq!(desk.ask::<Vec<String>>(heads).await, before);

        // A material that no treatment has yet.
        desk.fill(".add-material [name=row]", "oat_flour").await;
        desk.keys(Key::Enter).await;
        desk.until("document.activeElement.matches('[data-cell*=oat_flour]')")
            .await;
    });
}

/// A block that can be read in two ways is shown and asked about before it is taken; one number can be told no other way.
#[test]
fn a_pasted_block_is_read_as_a_whole_and_asked_about() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let had = desk.value(&salt()).await;
        desk.click(&salt()).await;
        let paste = "const data = new DataTransfer(); data.setData('text/plain', arguments[0]);
            return document.activeElement.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }));";
        desk.run::<bool>(paste, &["0,45".into()]).await;
        desk.until("document.querySelector('#paste:popover-open .reading')")
            .await;
        assert_eq!(desk.value(&salt()).await, had, "nothing is taken unasked");
        desk.press("#paste", "Paste nothing").await;
        desk.until("!document.querySelector(':popover-open')").await;
        assert_eq!(desk.value(&salt()).await, had);
        desk.click(&salt()).await;
        desk.run::<bool>(paste, &["0,45".into()]).await;
        desk.until("document.querySelector('#paste:popover-open .reading')")
            .await;
        desk.press("#paste .reading:first-of-type", "Take it so")
            .await;
        desk.until_reads(&salt(), "0.45").await;
        desk.until("document.querySelector('.unsaved')").await;
    });
}

/// A list with names goes where its names belong: a name that is certain is matched, one that isn't shows what it may
/// mean, and nothing is taken before it is chosen.
#[test]
fn a_pasted_list_finds_its_materials_and_asks_where_it_is_not_certain() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let (barley, was) = (
            cell("barley", "dry", "barley_flour"),
            desk.value(&salt()).await,
        );
        desk.press(".tools", "Paste a list…").await;
        desk.click("#paste textarea").await;
        desk.run::<bool>(
            "document.querySelector('#paste textarea').value = arguments[0]; return true;",
            &["material\tBarley for wheat\nBarley flour\t48,5\nchick pea flour\t3,0\nSalt\t0,45\n".into()],
        )
        .await;
        desk.press("#paste", "Read it").await;
        desk.until("document.querySelectorAll('#paste .names tbody tr').length === 3")
            .await;
        assert_eq!(
            desk.value("#paste [name='to.0']").await,
            "barley",
            "its head names the treatment"
        );
        assert_eq!(
            desk.ask::<usize>("document.querySelectorAll('#paste .unsure').length")
                .await,
            1
        );
        let offers = desk.text("#paste .unsure .meant").await;
        assert!(offers.contains("Chickpea flour"), "{offers}");
        assert_eq!(desk.value(&salt()).await, was, "nothing is taken yet");
        // Without a choice nothing is sent.
        desk.press("#paste .names", "Take it so").await;
        assert!(
            desk.ask::<bool>("document.querySelector('#paste').matches(':popover-open')")
                .await
        );
        desk.click("#paste .meant [value=chickpea_flour]").await;
        desk.press("#paste .names", "Take it so").await;
        desk.until("!document.querySelector(':popover-open')").await;
        desk.until_reads(&barley, "48.50").await;
        desk.until_reads(&cell("barley", "dry", "chickpea_flour"), "3.00")
            .await;
        desk.until_reads(&cell("barley", "dry", "salt"), "0.45")
            .await;
        assert_eq!(desk.value(&salt()).await, was, "the control is as it was");
        // It is one step: undo takes the whole list back.
        desk.keys(Key::Control + "z").await;
        desk.until("!document.querySelector('.unsaved')").await;
    });
}

/// A difference that is smaller than what isn't known tells its limits by itself once they are drawn, and no longer than
/// the numbers that they are of stand there.
#[test]
fn limits_come_by_themselves_where_a_difference_is_open() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let shown = "[...document.querySelectorAll('.strip .open')].filter((o) => o.textContent)";
        desk.long_until(&format!("{shown}.length > 0")).await;
        let odd: Vec<String> = desk
            .ask(&format!(
                "{shown}.filter((o) => o.dataset.p.startsWith('kg.')).map((o) => o.textContent.match(/[+−]?[0-9.]+/g).slice(0, 2).map((n) => Number(n.replace('−', '-')))).filter(([low, high]) => low > 0 || high < 0).map(String)"
            ))
            .await;
        assert!(
            odd.is_empty(),
            "limits beside differences that are sure: {odd:?}"
        );
        let some: usize = desk.ask(&format!("{shown}.length")).await;
        desk.press(".tools", "How sure").await;
        desk.long_until(&format!("{shown}.length > {some}")).await;
        desk.press(".tools", "How sure").await;
        desk.long_until(&format!("{shown}.length === {some}")).await;
        desk.fill(&cell("control", "dry", "wheat_flour_soft"), "44")
            .await;
        desk.keys(Key::Enter).await;
        desk.until(&format!("{shown}.length === 0")).await;
        desk.long_until(&format!("{shown}.length > 0")).await;
    });
}

/// The answers of the control and of at least two others (on a telephone one) stand on the first screen, stay there
/// while the table is scrolled, and move when a number does.
#[test]
fn answers_stay_in_sight_while_a_number_changes() {
    at_desk(|desk| async move {
        for (width, height, columns) in [
            (1440, 900, 3),
            (1024, 768, 3),
            (820, 1180, 3),
            (390, 844, 2),
        ] {
            desk.screen(width, height).await;
            desk.open(BARS).await;
            desk.until(LIVE).await;
            let unseen = format!(
                "[...document.querySelectorAll('.strip')].flatMap((row) => [...row.querySelectorAll('td.figure')].slice(0, {columns})).filter((cell) => {{ const box = cell.getBoundingClientRect(); return box.top < 0 || box.bottom > innerHeight || box.left < 0 || box.left + 20 > innerWidth; }}).length"
            );
            let rows = "document.querySelectorAll('.strip').length";
            assert_eq!(desk.ask::<usize>(rows).await, 5);
            assert_eq!(desk.ask::<usize>(&unseen).await, 0, "{width} × {height}");
            desk.run::<bool>(
                "const box = document.querySelector('.study-box'); box.scrollTop = box.scrollHeight; return true;",
                &[],
            )
            .await;
            assert_eq!(
                desk.ask::<usize>(&unseen).await,
                0,
                "{width} × {height}, scrolled"
            );
        }
        desk.screen(1440, 900).await;
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let bake = part("k.bake.time_min.control");
        let was = desk.text(&bake).await;
        desk.fill(&cell("control", "dry", "wheat_flour_soft"), "44")
            .await;
        desk.keys(Key::Enter).await;
        desk.until("document.querySelector('.unsaved')").await;
        assert_ne!(desk.text(&bake).await, was);
        let below = desk.text(&part("f.bake.time_min.control")).await;
        assert!(below.starts_with(&desk.text(&bake).await), "{below}");
    });
}

/// What an edit doesn't change is neither made anew nor written again: each place touched is styled and laid out once more.
#[test]
fn an_edit_touches_only_what_differs() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let counted: (usize, usize) = desk
            .ask(
                "(() => {
                  window.touched = new Set();
                  const cells = document.querySelectorAll('#sheet [data-cell]');
                  const found = document.querySelectorAll('.found li');
                  new MutationObserver((all) => all.forEach((m) => touched.add(m.target)))
                    .observe(document.getElementById('sheet'), { subtree: true, attributes: true, attributeFilter: ['value'] });
                  for (const one of found) one.seen = true;
                  document.querySelector('#study').seen = true;
                  return [cells.length, found.length];
                })()",
            )
            .await;
        assert!(counted.0 > 50 && counted.1 > 10, "{counted:?}");
        let (bake, was) = (
            "f.bake.time_min.control",
            shown(&desk, "f.bake.time_min.control").await,
        );
        desk.fill(&cell("control", "fat", "sunflower_oil"), "5")
            .await;
        until_differs(&desk, bake, &was).await;
        let (written, anew, head): (usize, usize, bool) = desk
            .ask(
                "[touched.size, [...document.querySelectorAll('.found li')].filter((one) => !one.seen).length,
                  document.querySelector('#study').seen === true]",
            )
            .await;
        // Amounts follow in the treatments that start from the control; the others stay.
        assert!(written < counted.0 / 2, "{written} of {} cells", counted.0);
        assert!(anew < counted.1 / 2, "{anew} of {} findings", counted.1);
        assert!(head, "the head of the page was made anew");
    });
}
