//! The page of rates by simulation: what it tells of a layout is what its trials allow.

use crate::root;
use trials::rates::ALL;

/// Lower and upper limit of a cell `5.1 (3.4–7.3)` or `94.1 ± 1.4`.
fn limits(cell: &str) -> (f64, f64) {
    if let Some((mean, half)) = cell.split_once(" ± ") {
        let (mean, half): (f64, f64) = (mean.parse().unwrap(), half.parse().unwrap());
        // The page tells tenths.
        let tenth = |v: f64| (10.0 * v).round() / 10.0;
        return (tenth(mean - half), tenth(mean + half));
    }
    let inside = cell.split_once('(').unwrap().1.trim_end_matches(')');
    let (low, high) = inside.split_once('–').unwrap();
    (low.parse().unwrap(), high.parse().unwrap())
}

#[test]
fn every_rate_on_the_page_is_within_its_limits_or_has_its_reason() {
    let page = std::fs::read_to_string(root().join("docs/validation-trials.md")).unwrap();
    assert!(page.contains(&format!("`trials::rates` ({},", ALL.len())));
    let (_, reasons) = page.split_once("except here:").unwrap();
    for layout in &ALL {
        let row = page
            .lines()
            .find(|l| l.starts_with(&format!("| {} |", layout.name)))
            .unwrap_or_else(|| panic!("{} has no row", layout.name));
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let trials: u32 = cells[2].parse().unwrap();
        assert!(trials >= 500, "{row}");
        let (alarm, cover) = (limits(cells[3]), limits(cells[5]));
        // The true rate may lie where it should.
        let alarm_fits = alarm.0 <= 6.0 && (alarm.1 >= 4.0 || layout.excuse.is_some());
        let cover_fits = cover.1 >= 94.0 && (cover.0 <= 96.0 || layout.excuse.is_some());
        let told = reasons.contains(&format!("`{}`", layout.name));
        assert!(
            (alarm_fits && cover_fits) || told,
            "{row}: outside 4 to 6 % and 94 to 96 % without a reason"
        );
    }
}
