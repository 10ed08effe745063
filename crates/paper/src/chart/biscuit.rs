//! A baked piece as it would look: its outline, its holes, and the crust in its own colours.

use super::solid::{HeatPicture, ROOM_MM, cells};
use super::svg::n;
use maud::{Markup, html};

/// How far neighbouring colours run into each other, as a share of the distance between two numbers.
const SOFT: f64 = 0.6;

/// A piece from above at its true size: the colours of `crust`, cut out along its outline, with holes as holes. Corners and
/// middles of holes \[mm\] are told from the middle of the piece, y upwards. Two on one page are told apart by `key`.
pub fn biscuit(
    key: &str,
    said: &str,
    crust: &HeatPicture,
    outline_mm: &[(f64, f64)],
    holes_mm: &[(f64, f64)],
    hole_radius_mm: f64,
) -> Markup {
    let (wide, high) = crust.size_mm();
    let (width, height) = (wide + 2.0 * ROOM_MM, high + 2.0 * ROOM_MM);
    if outline_mm.len() < 3 || !(width.is_finite() && height.is_finite()) {
        return html! {};
    }
    let at = |(x, y): &(f64, f64)| (width / 2.0 + x, height / 2.0 - y);
    let points = outline_mm.iter().map(at);
    let points: Vec<String> = points.map(|(x, y)| format!("{},{}", n(x), n(y))).collect();
    let points = points.join(" ");
    let soft = n(SOFT * crust.step_mm[0].max(crust.step_mm[1]));
    html! {
        svg .biscuit role="img" width={ (n(width)) "mm" } height={ (n(height)) "mm" } viewBox={ "0 0 " (n(width)) " " (n(height)) } {
            title { (said) }
            defs {
                clipPath id={ "biscuit-edge-" (key) } { polygon points=(points) {} }
                filter id={ "biscuit-soft-" (key) } x="-5%" y="-5%" width="110%" height="110%" { feGaussianBlur stdDeviation=(soft) {} }
            }
            g clip-path={ "url(#biscuit-edge-" (key) ")" } {
                (cells(crust, ROOM_MM))
                g filter={ "url(#biscuit-soft-" (key) ")" } { (cells(crust, ROOM_MM)) }
            }
            polygon .edge points=(points) {}
            @for (x, y) in holes_mm.iter().map(at) { circle .hole cx=(n(x)) cy=(n(y)) r=(n(hole_radius_mm)) {} }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Ramp;

    #[test]
    fn it_has_its_outline_its_holes_and_the_colours_of_its_crust() {
        let crust = HeatPicture {
            title: String::new(),
            points: [2, 1],
            step_mm: [10.0, 10.0],
            values: vec![0.0, 60.0],
            ramp: Ramp::Crust,
            range: Some((0.0, 60.0)),
            unit: "",
        };
        let outline = [(-10.0, -5.0), (10.0, -5.0), (10.0, 5.0), (-10.0, 5.0)];
        let drawn = biscuit("a", "a bar", &crust, &outline, &[(5.0, 0.0)], 1.0).into_string();
        // From the middle of 28 by 18 mm.
        assert!(drawn.contains("points=\"4,14 24,14 24,4 4,4\""), "{drawn}");
        assert!(drawn.contains("cx=\"19\" cy=\"9\""), "{drawn}");
        for share in [0.0, 1.0] {
            assert!(drawn.contains(&Ramp::Crust.colour(share).hex()), "{drawn}");
        }
        assert!(
            biscuit("b", "none", &crust, &[], &[], 1.0)
                .into_string()
                .is_empty()
        );
    }
}
