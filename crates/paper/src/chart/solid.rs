//! Heat pictures of a whole piece to scale: in plan and in section, one under the other; as a drawing and as pixels.

use super::svg::n;
use crate::{Ramp, Rgb, number};
use maud::{Markup, html};

/// Colour steps in a drawing.
const STEPS: usize = 48;
/// Room around and between the pictures \[mm\].
pub(super) const ROOM_MM: f64 = 4.0;
/// Size of the text \[mm\].
const TEXT_MM: f64 = 3.2;

/// Room of a picture's title and key \[mm\].
const HEAD_MM: f64 = TEXT_MM + 4.6;

/// Length of the key of colours \[mm\].
const KEY_MM: f64 = 20.0;

/// One picture.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatPicture {
    /// What it shows.
    pub title: String,
    /// Grid points across and up.
    pub points: [usize; 2],
    /// Distance between them \[mm\].
    pub step_mm: [f64; 2],
    /// Numbers, running across fastest, from the bottom up; not a number outside the piece.
    pub values: Vec<f32>,
    /// The ramp.
    pub ramp: Ramp,
    /// Ends of the ramp; the picture's own if none.
    pub range: Option<(f64, f64)>,
    /// Unit of the numbers.
    pub unit: &'static str,
}

impl HeatPicture {
    /// Ends of the ramp.
    pub fn ends(&self) -> (f64, f64) {
        let finite = || self.values.iter().filter(|v| v.is_finite());
        let (low, high) = self.range.unwrap_or_else(|| {
            let low = finite().fold(f32::INFINITY, |a, b| a.min(*b));
            let high = finite().fold(f32::NEG_INFINITY, |a, b| a.max(*b));
            (f64::from(low), f64::from(high))
        });
        if low.is_finite() && high > low {
            (low, high)
        } else if low.is_finite() {
            (low, low + 1.0)
        } else {
            (0.0, 1.0)
        }
    }

    pub(super) fn size_mm(&self) -> (f64, f64) {
        (
            self.points[0] as f64 * self.step_mm[0],
            self.points[1] as f64 * self.step_mm[1],
        )
    }

    fn share(&self, i: usize, j: usize) -> Option<f64> {
        let (low, high) = self.ends();
        let value = self.values.get(j * self.points[0] + i)?;
        let share = (f64::from(*value) - low) / (high - low);
        share.is_finite().then(|| share.clamp(0.0, 1.0))
    }

    /// The ends of the ramp, for its key.
    fn words(&self) -> String {
        let (low, high) = self.ends();
        let words = format!("{} to {}", number::fixed(low, 1), number::fixed(high, 1));
        format!("{words} {}", self.unit).trim_end().to_owned()
    }
}

fn total_mm(pictures: &[HeatPicture]) -> (f64, f64) {
    let wide = pictures.iter().map(|p| p.size_mm().0).fold(70.0, f64::max);
    let tall: f64 = pictures
        .iter()
        .map(|p| p.size_mm().1 + HEAD_MM + 2.0 * ROOM_MM)
        .sum();
    (wide + 2.0 * ROOM_MM, tall + ROOM_MM)
}

/// The pictures at their true size, each with its title and a key of its colours.
pub fn heat_pictures(title: &str, pictures: &[HeatPicture]) -> Markup {
    let (wide, tall) = total_mm(pictures);
    let mut next = ROOM_MM;
    let placed: Vec<(f64, &HeatPicture)> = pictures
        .iter()
        .map(|p| {
            let top = next;
            next += p.size_mm().1 + HEAD_MM + 2.0 * ROOM_MM;
            (top, p)
        })
        .collect();
    html! {
        svg .to-scale role="img" width={ (n(wide)) "mm" } height={ (n(tall)) "mm" }
            viewBox={ "0 0 " (n(wide)) " " (n(tall)) } font-family="sans-serif" font-size=(TEXT_MM) {
            title { (title) }
            @for (top, p) in placed {
                text x=(n(ROOM_MM)) y=(n(top + TEXT_MM)) { (p.title) }
                (cells(p, top + HEAD_MM + 0.5 * ROOM_MM))
                (key(p, ROOM_MM, top + TEXT_MM + 2.2))
                text x=(n(ROOM_MM + KEY_MM + 1.5)) y=(n(top + 2.0 * TEXT_MM + 1.2)) { (p.words()) }
            }
        }
    }
}

fn key(p: &HeatPicture, left: f64, top: f64) -> Markup {
    let wide = KEY_MM / 16.0;
    html! {
        @for i in 0..16 {
            rect x=(n(left + f64::from(i) * wide)) y=(n(top)) width=(n(wide)) height="2"
                fill=(p.ramp.colour(f64::from(i) / 15.0).hex()) {}
        }
    }
}

/// One path per colour; neighbours of a colour run together.
pub(super) fn cells(p: &HeatPicture, top: f64) -> Markup {
    let mut paths = vec![String::new(); STEPS];
    let [across, up] = p.step_mm;
    for j in 0..p.points[1] {
        let y = top + (p.points[1] - 1 - j) as f64 * up;
        let steps: Vec<Option<usize>> = (0..p.points[0])
            .map(|i| {
                p.share(i, j)
                    .map(|s| (s * (STEPS - 1) as f64).round() as usize)
            })
            .collect();
        let mut i = 0;
        for run in steps.chunk_by(|a, b| a == b) {
            if let Some(step) = run[0] {
                let long = run.len() as f64 * across;
                paths[step] += &format!(
                    "M{} {}h{}v{}h{}z",
                    n(ROOM_MM + i as f64 * across),
                    n(y),
                    n(long),
                    n(up),
                    n(-long)
                );
            }
            i += run.len();
        }
    }
    html! {
        g stroke-width="0.12" shape-rendering="crispEdges" {
            @for (step, path) in paths.iter().enumerate().filter(|(_, p)| !p.is_empty()) {
                @let colour = p.ramp.colour(step as f64 / (STEPS - 1) as f64).hex();
                path fill=(colour) stroke=(colour) d=(path) {}
            }
        }
    }
}

/// Pixels of pictures one under the other on white, without words: width, height and three bytes each.
pub fn pixels(pictures: &[HeatPicture], per_mm: f64) -> (usize, usize, Vec<u8>) {
    let room = (ROOM_MM * per_mm).round() as usize;
    let sizes: Vec<(usize, usize)> = pictures
        .iter()
        .map(|p| {
            let (w, h) = p.size_mm();
            ((w * per_mm).ceil() as usize, (h * per_mm).ceil() as usize)
        })
        .collect();
    let width = sizes.iter().map(|s| s.0).max().unwrap_or(1) + 2 * room;
    let height = sizes.iter().map(|s| s.1 + room).sum::<usize>() + room;
    let mut bytes = vec![255; 3 * width * height];
    let mut top = room;
    for (p, (wide, tall)) in pictures.iter().zip(sizes) {
        for y in 0..tall {
            for x in 0..wide {
                let i = ((x as f64 + 0.5) / (per_mm * p.step_mm[0])) as usize;
                let j = ((tall - 1 - y) as f64 + 0.5) / (per_mm * p.step_mm[1]);
                if i >= p.points[0] || j as usize >= p.points[1] {
                    continue;
                }
                if let Some(share) = p.share(i, j as usize) {
                    let Rgb(r, g, b) = p.ramp.colour(share);
                    let at = 3 * ((top + y) * width + room + x);
                    bytes[at..at + 3].copy_from_slice(&[r, g, b]);
                }
            }
        }
        top += tall + room;
    }
    (width, height, bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture() -> HeatPicture {
        HeatPicture {
            title: "moisture".into(),
            points: [3, 2],
            step_mm: [2.0, 1.0],
            values: vec![0.0, 5.0, f32::NAN, 10.0, 10.0, 10.0],
            ramp: Ramp::Moisture,
            range: None,
            unit: "%",
        }
    }

    #[test]
    fn a_drawing_has_its_values_and_leaves_the_outside_free() {
        let svg = heat_pictures("piece", &[picture()]).into_string();
        assert!(
            svg.contains(">moisture</text>") && svg.contains(">0.0 to 10.0 %</text>"),
            "{svg}"
        );
        // Three colours, and the upper row in one run of 6 mm.
        assert_eq!(svg.matches("<path").count(), 3);
        assert!(svg.contains("h6v1h-6z"), "{svg}");
    }

    #[test]
    fn pixels_are_white_outside() {
        let (w, h, bytes) = pixels(&[picture()], 10.0);
        assert_eq!((w, h), (60 + 80, 20 + 80));
        let at = |x: usize, y: usize| &bytes[3 * (y * w + x)..3 * (y * w + x) + 3];
        assert_eq!(at(0, 0), [255, 255, 255]);
        // Lower row, third point: outside the piece.
        assert_eq!(at(40 + 50, 40 + 15), [255, 255, 255]);
        let Rgb(r, g, b) = Ramp::Moisture.colour(1.0);
        assert_eq!(at(40 + 50, 40 + 5), [r, g, b]);
    }
}
