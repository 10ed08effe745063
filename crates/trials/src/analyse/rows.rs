//! Rows of a table in words.

/// Lists rows shortly.
pub(super) fn rows_in_words(rows: &[usize]) -> String {
    let shown: Vec<String> = rows.iter().take(8).map(ToString::to_string).collect();
    let more = if rows.len() > 8 {
        format!(" and {} more", rows.len() - 8)
    } else {
        String::new()
    };
    let word = if rows.len() == 1 { "row" } else { "rows" };
    format!("{word} {}{more}", shown.join(", "))
}
