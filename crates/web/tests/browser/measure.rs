//! Measurements at the desk: keys walk the grid, a block of a spreadsheet goes in, and what was typed is in the book.

use crate::desk::at_desk;
use serde_json::json;

/// Pastes a text where the cursor stands; tells whether the page took it.
const PASTE: &str = "const data = new DataTransfer(); data.setData('text/plain', arguments[0]);
    return !document.activeElement.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }));";

/// The names of the first two fields of a column, and the response that the column is of.
const COLUMN: &str = "const cells = [...document.querySelector('[data-grid]').tBodies[0].rows].map((r) => [...r.cells].slice(1).map((c) => c.querySelector('input')));
    const column = cells[0].map((_, k) => cells.filter((r) => r[k])).findIndex((c) => c.length > 3);
    return cells.map((r) => r[column]).filter((f) => f).slice(0, 3).map((f) => f.name);";

#[test]
fn a_block_of_a_spreadsheet_goes_into_the_grid_and_into_the_book() {
    at_desk(|desk| async move {
        desk.open("/trial/bite/measure?batch=bite-b01").await;
        let names = desk.run::<Vec<String>>(COLUMN, &[]).await;
        let field = |n: usize| format!("[name='{}']", names[n]);
        let stood: f64 = desk.value(&field(0)).await.parse().unwrap();
        let third = desk.value(&field(2)).await;

        // Enter goes down and never sends the grid.
        desk.click(&field(0)).await;
        desk.keys("\u{e007}").await;
        let now = "document.activeElement.name";
        assert_eq!(desk.ask::<String>(now).await, names[1]);
        desk.keys("\u{e013}").await;
        assert_eq!(desk.ask::<String>(now).await, names[0]);

        // Two values go into two cells, and nothing else moves; values that stand ask for a reason.
        let typed = [stood * 1.01, stood * 1.02].map(|v| format!("{v:.2}"));
        let block = format!("{}\r\n{}\r\n", typed[0], typed[1]);
        assert!(desk.run::<bool>(PASTE, &[json!(block)]).await);
        assert_eq!(desk.value(&field(0)).await, typed[0]);
        assert_eq!(desk.value(&field(1)).await, typed[1]);
        assert_eq!(desk.value(&field(2)).await, third);
        desk.press("#grid", "Keep what is typed").await;
        desk.until_told("Nothing is written yet").await;
        assert_eq!(
            desk.value(&field(1)).await,
            typed[1],
            "what was typed stands"
        );
        desk.fill("#grid [name=why]", "read the wrong scale").await;
        desk.press("#grid", "Keep what is typed").await;
        desk.until(&format!(
            "location.hash === '#grid' && Number(document.querySelector(\"{}\")?.value) === {}",
            field(1),
            typed[1]
        ))
        .await;

        // The book has both, each over the row that it took the place of.
        let view = desk.app.trial("bite").await.unwrap();
        let made = view.made.iter().find(|m| m.id == "bite-b01").unwrap();
        for value in typed.iter().map(|t| t.parse::<f64>().unwrap()) {
            assert!(
                made.state.values.iter().any(|v| v.value == value),
                "{value}"
            );
        }
        let struck = made.state.struck.iter();
        assert_eq!(
            struck.filter(|s| s.why == "read the wrong scale").count(),
            2
        );

        // What can't be is asked for once more, and nothing is lost.
        desk.fill(&field(0), "99999").await;
        desk.fill("#grid [name=why]", "a test").await;
        desk.press("#grid", "Keep what is typed").await;
        desk.until_told("beyond what is plausible").await;
        assert_eq!(desk.value(&field(0)).await, "99999");
        desk.fill(&field(0), "sixty").await;
        desk.press("#grid", "Keep what is typed").await;
        desk.until_told("one value can’t be taken").await;
        assert_eq!(desk.value(&field(0)).await, "sixty");
    });
}
