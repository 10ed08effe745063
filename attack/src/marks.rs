//! The marks that edits leave: each is kept beside all that were there before, so that one that is lost stays missing,
//! whatever is edited afterwards.

use std::collections::BTreeSet;

/// The numbers of the edits that a client finds in its own cell.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Marks(BTreeSet<u64>);

impl Marks {
    /// Those of one client in the text of a study.
    pub fn of(client: usize, study: &str) -> Self {
        let told = study.split_once(&opening(client));
        let told = told.and_then(|(_, rest)| rest.split_once('.'));
        let mut marks = BTreeSet::new();
        for span in told.map_or("", |(told, _)| told).split(' ') {
            let (first, last) = span.split_once('-').unwrap_or((span, span));
            if let (Ok(first), Ok(last)) = (first.parse::<u64>(), last.parse::<u64>()) {
                marks.extend(first..=last);
            }
        }
        Self(marks)
    }

    /// One more.
    pub fn and(mut self, mark: u64) -> Self {
        self.0.insert(mark);
        self
    }

    /// As they stand in the client's cell.
    pub fn text(&self, client: usize) -> String {
        let mut spans: Vec<(u64, u64)> = Vec::new();
        for mark in &self.0 {
            match spans.last_mut() {
                Some((_, last)) if *last + 1 == *mark => *last = *mark,
                _ => spans.push((*mark, *mark)),
            }
        }
        let spans: Vec<String> = spans.iter().map(|(a, b)| format!("{a}-{b}")).collect();
        format!("{}{}.", opening(client), spans.join(" "))
    }

    /// Which of so many acknowledged edits aren't there.
    pub fn lost(&self, acknowledged: u64) -> Vec<u64> {
        (0..acknowledged).filter(|n| !self.0.contains(n)).collect()
    }
}

fn opening(client: usize) -> String {
    format!("client {client} was told ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_and_what_is_missing_is_told() {
        let all = (0..50)
            .filter(|n| *n != 7 && *n < 48)
            .fold(Marks::default(), Marks::and);
        let study = format!("note = \"{}\" # client 1 says", all.text(2));
        assert_eq!(Marks::of(2, &study), all);
        assert_eq!(Marks::of(2, &study).lost(50), [7, 48, 49]);
        assert_eq!(Marks::of(1, &study), Marks::default());
    }
}
