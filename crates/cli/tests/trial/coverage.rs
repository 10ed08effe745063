//! The page of rates by simulation: what it tells of a layout is what its trials allow.

use crate::root;
use trials::rates::ALL;

/// The two numbers of a cell `5.1 (3.4 to 7.3)`: lower and upper limit.
fn limits(cell: &str) -> (f64, f64) {
    let inside = cell.split_once('(').unwrap().1.trim_end_matches(')');
    let (low, high) = inside.split_once(" to ").unwrap();
    (low.parse().unwrap(), high.parse().unwrap())
}

#[test]
fn every_rate_on_the_page_is_within_its_limits_or_has_its_reason() {
    let page = std::fs::read_to_string(root().join("docs/validation-trials.md")).unwrap();
    assert!(page.contains(&format!("{} layouts", ALL.len())));
    for layout in &ALL {
        let row = page
            .lines()
            .find(|l| l.starts_with(&format!("| {} |", layout.name)) && l.contains(" to "));
        // Layouts that were not run over enough seeds have no row.
        let Some(row) = row else { continue };
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let trials: u32 = cells[2].parse().unwrap();
        assert!(trials >= 200, "{row}");
        let (alarm, cover) = (limits(cells[3]), limits(cells[4]));
        // The true rate may lie where it should.
        let alarm_fits = alarm.0 <= 6.0 && (alarm.1 >= 4.0 || layout.excuse.is_some());
        let cover_fits = cover.1 >= 94.0 && (cover.0 <= 96.0 || layout.excuse.is_some());
        assert!(
            (alarm_fits && cover_fits) || !cells[5].is_empty(),
            "{row}: outside 4 to 6 % and 94 to 96 % without a reason"
        );
    }
}
