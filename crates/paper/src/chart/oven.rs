//! An oven seen from the side, to length: housing, band, pieces on it in their crust, and what is set in each zone where it
//! acts. The borders between zones can be handles.

use super::svg::{Anchor, circle, line, n, rect, text};
use crate::number;
use crate::ramp::Rgb;
use maud::{Markup, html};

/// Width of the drawing, px.
const WIDE: f64 = 960.0;
/// Height of the drawing, and of the words to press below it, px.
const HIGH: f64 = 186.0;
const DEEDS: f64 = 48.0;
/// Width of a word to press, px.
const DEED: f64 = 64.0;
/// Where the housing begins and ends, px.
const MOUTH: f64 = 30.0;
const EXIT: f64 = 930.0;
/// Top of the housing and height of the band, px.
const ROOF: f64 = 26.0;
const BAND: f64 = 102.0;
/// Width of a piece on the band, px: pieces are larger than the oven is to length.
const PIECE: f64 = 38.0;
/// Room between two pieces, px.
const GAP: f64 = 22.0;

/// A zone.
#[derive(Clone, Debug, PartialEq)]
pub struct OvenZone {
    /// Its name.
    pub name: String,
    /// Its share of the length.
    pub share: f64,
    /// What acts from above, from the roof down.
    pub above: Vec<String>,
    /// What acts from below.
    pub below: String,
    /// What is told at its end.
    pub at_end: Vec<String>,
}

/// Something that can be done to a zone, as a word to press.
#[derive(Clone, Debug, PartialEq)]
pub struct OvenDeed {
    /// The word.
    pub word: String,
    /// What a script knows it by.
    pub key: String,
    /// The zone.
    pub about: String,
    /// What it does, for those who hear the page.
    pub said: String,
}

/// An oven with pieces on its band.
#[derive(Clone, Debug, PartialEq)]
pub struct OvenSide {
    /// What it shows.
    pub title: String,
    /// The zones in the order the pieces pass them.
    pub zones: Vec<OvenZone>,
    /// Thickness of a piece as a share of its length.
    pub thickness_share: f64,
    /// Whether vapour leaves through the band.
    pub mesh: bool,
    /// Whether a band runs; else the pieces stand still while time goes from left to right.
    pub runs: bool,
    /// Whether the borders between zones can be moved.
    pub movable: bool,
    /// What can be done to each zone; may be empty.
    pub deeds: Vec<Vec<OvenDeed>>,
}

/// Draws the oven; `crust` tells the colour of a piece after a share of the way.
pub fn oven_side(o: &OvenSide, crust: impl Fn(f64) -> Rgb) -> Markup {
    let all: f64 = o.zones.iter().map(|z| z.share).sum();
    if !(all.is_finite() && all > 0.0) {
        return html! {};
    }
    let at = |share: f64| MOUTH + (EXIT - MOUTH) * share;
    let mut ends = Vec::with_capacity(o.zones.len());
    let mut end = 0.0;
    for zone in &o.zones {
        end += zone.share / all;
        ends.push(end);
    }
    let begins = |i: usize| i.checked_sub(1).map_or(0.0, |b| ends[b]);
    let count = ((EXIT - MOUTH) / (PIECE + GAP)).floor();
    let high = (PIECE * o.thickness_share).clamp(5.0, 26.0);
    let deeds = if o.deeds.iter().any(|d| !d.is_empty()) {
        DEEDS
    } else {
        0.0
    };
    let steel = if o.mesh { "steel mesh" } else { "steel" };
    html! {
        // What can be moved can't stand inside a picture.
        svg .oven-side role=(if o.movable { "group" } else { "img" }) aria-label=(o.title) viewBox={ "0 0 " (n(WIDE)) " " (n(HIGH + deeds)) } {
            title { (o.title) }
            (rect("housing", MOUTH, ROOF, EXIT - MOUTH, BAND - ROOF + 12.0))
            @for i in 0..count as usize {
                @let share = (i as f64 + 0.5) / count;
                rect .piece x=(n(at(share) - PIECE / 2.0)) y=(n(BAND - high - 1.5)) width=(n(PIECE)) height=(n(high)) rx="3" fill=(crust(share).hex()) {}
            }
            (line(steel, (MOUTH - 14.0, BAND), (EXIT + 14.0, BAND)))
            @if o.runs {
                (line("return", (MOUTH - 14.0, BAND + 18.0), (EXIT + 14.0, BAND + 18.0)))
                (circle("roller", MOUTH - 14.0, BAND + 9.0, 9.0))
                (circle("roller", EXIT + 14.0, BAND + 9.0, 9.0))
            }
            @for (i, zone) in o.zones.iter().enumerate() {
                @let middle = at((begins(i) + ends[i]) / 2.0);
                (text(middle, ROOF - 10.0, Anchor::Middle, "zone-name", &zone.name))
                @for (j, words) in zone.above.iter().enumerate() { (text(middle, ROOF + 19.0 + 17.0 * j as f64, Anchor::Middle, "", words)) }
                (text(middle, BAND + 36.0, Anchor::Middle, "", &zone.below))
                @let all = o.deeds.get(i).map_or(&[][..], Vec::as_slice);
                @for (j, deed) in all.iter().enumerate() {
                    @let x = middle + DEED * (j as f64 - 0.5 * (all.len() as f64 - 1.0));
                    g .deed role="button" tabindex="0" data-deed=(deed.key) data-zone=(deed.about) data-at=(i) aria-label=(deed.said) {
                        rect .press x=(n(x - DEED / 2.0)) y=(n(HIGH)) width=(n(DEED)) height=(n(DEEDS - 2.0)) {}
                        (text(x, HIGH + 0.5 * DEEDS + 4.0, Anchor::Middle, "", &deed.word))
                    }
                }
                @for (j, words) in zone.at_end.iter().enumerate() {
                    (text(at(ends[i]), BAND + 58.0 + 18.0 * j as f64, if i + 1 == o.zones.len() { Anchor::End } else { Anchor::Middle }, "second", words))
                }
            }
            @for i in 0..o.zones.len().saturating_sub(1) {
                @let x = at(ends[i]);
                @if o.movable {
                    @let percent = number::fixed(100.0 * ends[i], 1);
                    g .border tabindex="0" role="slider" data-border=(i) data-share=(format!("{:.5}", ends[i]))
                        aria-label={ "Border between " (o.zones[i].name) " and " (o.zones[i + 1].name) ", % of the length" }
                        aria-valuenow=(percent) aria-valuemin="0" aria-valuemax="100" transform={ "translate(" (n(x)) " 0)" } {
                        rect .grip x="-22" y=(n(ROOF)) width="44" height=(n(BAND - ROOF + 12.0)) {}
                        (line("edge", (0.0, ROOF), (0.0, BAND + 44.0)))
                        (circle("knob", 0.0, ROOF + 6.0, 5.0))
                    }
                } @else { (line("edge", (x, ROOF), (x, BAND + 44.0))) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn oven(shares: &[f64], movable: bool) -> String {
        let zone = |share: &f64| OvenZone {
            name: "first".into(),
            share: *share,
            above: vec!["air 230".into()],
            below: "band 200".into(),
            at_end: vec!["4.0 min".into()],
        };
        let side = OvenSide {
            title: "the oven".into(),
            zones: shares.iter().map(zone).collect(),
            thickness_share: 0.15,
            mesh: true,
            runs: true,
            movable,
            deeds: Vec::new(),
        };
        oven_side(&side, |share| Rgb((share * 255.0) as u8, 0, 0)).into_string()
    }

    #[test]
    fn what_can_be_done_to_a_zone_stands_under_it_as_a_button() {
        let zone = |name: &str| OvenZone {
            name: name.into(),
            share: 1.0,
            above: Vec::new(),
            below: String::new(),
            at_end: Vec::new(),
        };
        let deed = OvenDeed {
            word: "split".into(),
            key: "split_zone".into(),
            about: "hot <zone>".into(),
            said: "Split it".into(),
        };
        let side = OvenSide {
            title: "the oven".into(),
            zones: vec![zone("cold"), zone("hot <zone>")],
            thickness_share: 0.15,
            mesh: false,
            runs: true,
            movable: true,
            deeds: vec![Vec::new(), vec![deed]],
        };
        let drawn = oven_side(&side, |_| Rgb(0, 0, 0)).into_string();
        assert_eq!(drawn.matches("role=\"button\" tabindex=\"0\"").count(), 1);
        // The middle of the second half: 30 + 900 · 3/4.
        assert!(
            drawn.contains("x=\"705\"") && drawn.contains("data-zone=\"hot &lt;zone&gt;\""),
            "{drawn}"
        );
    }

    #[test]
    fn zones_stand_to_their_length_and_pieces_brown_along_it() {
        let drawn = oven(&[1.0, 3.0], true);
        // A quarter of the way from mouth to exit.
        assert!(drawn.contains("translate(255 0)"), "{drawn}");
        assert_eq!(drawn.matches("role=\"slider\"").count(), 1);
        assert_eq!(
            oven(&[1.0, 3.0], false).matches("role=\"slider\"").count(),
            0
        );
        let colours: Vec<&str> = drawn.split("fill=\"#").skip(1).map(|t| &t[..2]).collect();
        assert!(colours.len() > 10 && colours.is_sorted(), "{colours:?}");
        assert!(oven(&[], true).is_empty() && oven(&[f64::NAN], true).is_empty());
    }
}
