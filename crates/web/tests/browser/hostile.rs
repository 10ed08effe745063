//! Text that would be a script, names without end, numbers that are none.

use crate::desk::{BARS, Desk, LIVE, at_desk, cell};
use serde_json::json;
use thirtyfour::prelude::*;

const EVIL: &str =
    "</textarea><script>window.evil=1</script>\"'><img src=x onerror=\"window.evil=1\">";
/// Nothing ran, and nothing was put into the page that could.
const HARMLESS: &str = "!window.evil && document.querySelectorAll('img, script:not([src]), iframe, [onerror], [onclick]').length === 0";

async fn is_harmless(desk: &Desk, at: &str) {
    assert!(desk.ask::<bool>(HARMLESS).await, "{at}");
    assert!(desk.web.get_alert_text().await.is_err(), "a dialog: {at}");
}

#[test]
fn a_script_in_any_field_stays_text() {
    at_desk(|desk| async move {
        desk.open("/settings").await;
        desk.fill("[name=who]", EVIL).await;
        desk.press_on("main", "Save").await;
        desk.until_reads("[name=who]", EVIL).await;

        // Every text field of the sheet's dialogs.
        desk.open(BARS).await;
        desk.until(LIVE).await;
        for (opener, dialog, field, button) in [
            (
                "[popovertarget=t-barley].name",
                "#t-barley",
                "[name=name]",
                "Rename",
            ),
            (
                "[popovertarget=t-barley].name",
                "#t-barley",
                "[name=note]",
                "Keep the note",
            ),
            (
                "[popovertarget=target]",
                "#target",
                "[name=value]",
                "Keep the question",
            ),
            (
                "[popovertarget=add-treatment]",
                "#add-treatment",
                "[name=name]",
                "Add treatment",
            ),
        ] {
            desk.click(opener).await;
            desk.fill(&format!("{dialog} {field}"), EVIL).await;
            desk.press(dialog, button).await;
            desk.until("!document.querySelector(':popover-open')").await;
            is_harmless(&desk, field).await;
        }
        desk.until("document.querySelectorAll('.study-table thead .name').length === 8 && document.querySelector('h1').textContent.includes('<script>')")
            .await;
        desk.press(".tools", "Swap…").await;
        for (field, text) in [("with", EVIL), ("share_pct", EVIL)] {
            desk.fill(&format!("#swap [name={field}]"), text).await;
            desk.press("#swap", "Show what would change").await;
            desk.until("document.querySelector('#swap .word-back').innerText")
                .await;
            is_harmless(&desk, field).await;
        }
        desk.keys(Key::Escape).await;
        desk.until("!document.querySelector(':popover-open')").await;
        desk.fill(".add-material [name=row]", EVIL).await;
        desk.keys(Key::Enter).await;
        desk.until("document.getElementById('said').textContent")
            .await;
        desk.fill("#study [name=why]", EVIL).await;
        desk.press("#study", "Save").await;
        desk.until("document.querySelector('.saved')").await;

        // A study and a material of that name.
        desk.open("/").await;
        desk.fill("form[action='/studies'] [name=name]", EVIL).await;
        desk.press("main", "Make it").await;
        desk.until("document.getElementById('study')").await;
        let study: String = desk.ask("location.pathname").await;
        desk.open("/material/oat_flour").await;
        for field in ["name", "lot", "caution", "source"] {
            let field = format!("[name='v.{field}']");
            if desk
                .ask::<bool>(&format!(
                    "Boolean(document.querySelector({}))",
                    json!(field)
                ))
                .await
            {
                desk.fill(&field, EVIL).await;
            }
        }
        desk.fill("form.grid [name=why]", EVIL).await;
        desk.press_on("form.grid", "Save own values").await;
        desk.until_told("<script>").await;

        let search: String = desk
            .run("return encodeURIComponent(arguments[0]);", &[json!(EVIL)])
            .await;
        for path in [
            "/".to_owned(),
            format!("/?q={search}"),
            "/materials".to_owned(),
            format!("/materials?q={search}"),
            format!("/material/{search}"),
            "/material/oat_flour".to_owned(),
            "/settings".to_owned(),
            study,
            BARS.to_owned(),
            format!("{BARS}?said={search}&per={search}&rows={search}"),
            format!("{BARS}/bake?treatment=barley"),
            format!("{BARS}/bake?treatment={search}"),
            format!("{BARS}/line"),
            format!("{BARS}/label?treatment=barley"),
            format!("{BARS}/history"),
            format!("{BARS}/difference?from=1&to=2"),
        ] {
            desk.open(&path).await;
            is_harmless(&desk, &path).await;
        }
    });
}

#[test]
fn endless_names_and_odd_numbers_are_refused_beside_what_was_typed() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let salt = cell("control", "dry", "salt");
        let wrong =
            format!("document.querySelector(\"{salt}\").parentElement.querySelector('.wrong')");
        for odd in ["NaN", "1e308", "1,5", "-1", "four"] {
            desk.fill(&salt, odd).await;
            desk.until(&format!("({wrong})?.innerText.length > 10"))
                .await;
            assert_eq!(
                desk.value(&salt).await,
                odd,
                "what was typed stays to be mended"
            );
            let told: bool = desk
                .ask(&format!(
                    "document.querySelector(\"{salt}\").getAttribute('aria-invalid') === 'true'"
                ))
                .await;
            assert!(told, "{odd}");
            desk.keys(Key::Escape).await;
            desk.until_reads(&salt, "0.30").await;
            desk.until(&format!("!({wrong})")).await;
        }
        assert!(desk.text(".state").await.starts_with("saved: revision 1"));
        desk.open("/settings").await;
        desk.choose("[name=decimal]", "comma").await;
        desk.press_on("main", "Save").await;
        desk.until_reads("[name=decimal]", "comma").await;
        desk.open(BARS).await;
        desk.until(LIVE).await;
        desk.fill(&salt, "1,5").await;
        desk.keys(Key::Enter).await;
        desk.until("document.querySelector('.unsaved')").await;
        desk.until_reads(&salt, "1,50").await;

        // Ten thousand letters, past what the field itself lets through.
        desk.click("[popovertarget=t-barley].name").await;
        desk.run::<bool>(
            "const f = document.querySelector('#t-barley [name=name]'); f.removeAttribute('maxlength'); f.value = 'x'.repeat(10000); return true;",
            &[],
        )
        .await;
        desk.press("#t-barley", "Rename").await;
        desk.until("document.querySelector('#t-barley .word-back').innerText.includes('10000')")
            .await;
        desk.keys(Key::Escape).await;
        // The longest that is taken breaks no page.
        desk.click("[popovertarget=t-barley].name").await;
        desk.run::<bool>(
            "document.querySelector('#t-barley [name=name]').value = 'x'.repeat(200); return true;",
            &[],
        )
        .await;
        desk.press("#t-barley", "Rename").await;
        desk.until("document.querySelector('.study-table thead').innerText.includes('xxxx')")
            .await;
        for page in [
            "",
            "/bake?treatment=barley",
            "/line",
            "/label?treatment=barley",
            "/history",
        ] {
            desk.open(&format!("{BARS}{page}")).await;
            let wide = desk.too_wide().await;
            assert!(wide.is_empty(), "{page}: {wide:?}");
        }
    });
}
