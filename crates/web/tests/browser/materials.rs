//! Materials: a certificate of one lot stands in place of the shelf's value, and a study takes it.

use crate::desk::{BARS, LIVE, at_desk, part};

#[test]
fn a_certificate_with_its_lot_changes_the_sheet_when_a_study_takes_it() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let moisture = part("f.dough.moisture_pct.control");
        let was = desk.text(&moisture).await;
        desk.open("/materials?q=wheat").await;
        desk.click("a[href='/material/wheat_flour_soft']").await;
        desk.until_told("Own values").await;
        // What can't be is refused with the name of the field.
        desk.fill("[name='v.moisture_pct']", "wet").await;
        desk.press("form.grid", "Save own values").await;
        desk.until_told("Nothing was saved yet: 1 field can’t be read")
            .await;
        desk.until_told("‘wet’ is not a number").await;
        desk.until_reads("[name='v.moisture_pct']", "wet").await;
        desk.fill("[name='v.moisture_pct']", "9.2").await;
        desk.fill("[name='v.lot']", "W-77").await;
        desk.fill("form.grid [name=why]", "the miller's certificate")
            .await;
        desk.press("form.grid", "Save own values").await;
        desk.until_told("lot W-77").await;
        desk.open(BARS).await;
        desk.until(LIVE).await;
        assert_eq!(
            desk.text(&moisture).await,
            was,
            "a study takes values only when told to"
        );
        desk.open("/material/wheat_flour_soft").await;
        desk.press(".use", "Take the own values into this study")
            .await;
        desk.until(LIVE).await;
        desk.until("document.querySelector('.unsaved')").await;
        let is: f64 = desk.text(&moisture).await.parse().unwrap();
        assert!(
            is < was.parse::<f64>().unwrap(),
            "drier flour, drier dough: {was} to {is}"
        );
        desk.open("/material/wheat_flour_soft").await;
        desk.until_told("with values of its own").await;
    });
}
