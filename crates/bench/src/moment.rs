//! Moments: read, and the time between them.

/// Seconds since 1970 of a moment in RFC 3339.
pub fn seconds(at: &str) -> Option<f64> {
    let read: jiff::Timestamp = at.trim().parse().ok()?;
    Some(read.as_millisecond() as f64 / 1000.0)
}

/// Minutes from one moment to another.
pub fn minutes_between(from: &str, to: &str) -> Option<f64> {
    Some((seconds(to)? - seconds(from)?) / 60.0)
}

#[cfg(test)]
mod tests {
    #[test]
    fn moments_are_read_to_the_millisecond() {
        let between = super::minutes_between("2026-03-02T12:00:00Z", "2026-03-02T12:01:30.500Z");
        assert_eq!(between, Some(90.5 / 60.0));
        assert_eq!(super::seconds("yesterday"), None);
    }
}
