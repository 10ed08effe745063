//! The piece: trim shares from geometry, and laws that outlines, holes and layouts follow.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::Code;
use baking::piece::{
    Arrangement, ClosedPath, Docker, DockerPattern, Outline, Piece, Places, dock, on_roll, on_sheet,
};
use proptest::prelude::*;
use std::f64::consts::PI;
use std::fmt::Write;

/// Any outline: the three simple ones, star-shaped polygons, and the same with curved sides as a path.
fn any_outline() -> impl Strategy<Value = Outline> {
    let round = (0.01..0.12_f64).prop_map(|diameter_m| Outline::Round { diameter_m });
    let bar =
        (0.02..0.12_f64, 0.3..1.0_f64, 0.0..0.5_f64).prop_map(|(length_m, w, r)| Outline::Bar {
            length_m,
            width_m: w * length_m,
            corner_radius_m: r * w * length_m,
        });
    let bone = (0.03..0.12_f64, 0.35..0.6_f64, 0.2..1.0_f64, 0.26..0.4_f64).prop_map(
        |(length_m, w, neck, lobe)| {
            let width_m = w * length_m;
            Outline::Bone {
                length_m,
                width_m,
                neck_m: neck * width_m,
                lobe_radius_m: lobe * width_m,
            }
        },
    );
    let star = (
        prop::collection::vec(0.5..1.0_f64, 3..16),
        0.01..0.05_f64,
        any::<bool>(),
    )
        .prop_map(|(radii, size, curved)| {
            let n = radii.len();
            let corners: Vec<(f64, f64)> = radii
                .iter()
                .enumerate()
                .map(|(i, r)| {
                    let (sin, cos) = (2.0 * PI * i as f64 / n as f64).sin_cos();
                    (size * r * cos, size * r * sin)
                })
                .collect();
            if !curved {
                return Outline::Path(ClosedPath::through(&corners).unwrap());
            }
            // From middle of side to middle of side with the corner as control: inside the star's rays.
            let middle = |i: usize| {
                let (a, b) = (corners[i % n], corners[(i + 1) % n]);
                (500.0 * (a.0 + b.0), 500.0 * (a.1 + b.1))
            };
            let start = middle(n - 1);
            let mut text = format!("M{} {}", start.0, start.1);
            for (i, c) in corners.iter().enumerate() {
                let to = middle(i);
                write!(text, "Q{} {} {} {}", c.0 * 1e3, c.1 * 1e3, to.0, to.1).unwrap();
            }
            Outline::Path(ClosedPath::from_svg(&(text + "Z"), 1e-3).unwrap())
        });
    prop_oneof![round, bar, bone, star]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    /// Nothing encloses more with less edge than a circle; a polygon close to the outline has its area; holes on
    /// rows lie inside; a layout takes at most the whole sheet.
    #[test]
    fn any_outline_is_a_shape(outline in any_outline(), count in 0u32..12) {
        prop_assert!(outline.check().is_ok(), "{:?}", outline.check());
        let (area, edge) = (outline.area_m2(), outline.perimeter_m());
        prop_assert!(area > 0.0 && edge >= 2.0 * (PI * area).sqrt() * (1.0 - 1e-9), "{area} {edge}");
        let (length, width) = outline.extent_m();
        prop_assert!(area <= length * width * (1.0 + 1e-9));
        let ring = outline.polygon(1e-6);
        let next = ring.iter().cycle().skip(1);
        let of_ring: f64 = ring.iter().zip(next).map(|(a, b)| 0.5 * (a.0 * b.1 - b.0 * a.1)).sum();
        prop_assert!((of_ring / area - 1.0).abs() < 1e-3, "{of_ring} {area}");
        let again: Outline = serde_json::from_str(&serde_json::to_string(&outline).unwrap()).unwrap();
        prop_assert!((again.area_m2() / area - 1.0).abs() < 1e-12);

        let piece = Piece {
            outline: outline.clone(),
            thickness_m: 0.008,
            docker: Some(Docker { count, diameter_m: 0.0005 }),
        };
        for places in [Places::Grid, Places::Axis, Places::Ring { diameter_m: None }] {
            // Holes of half a millimetre may still be too many for a thin corner: then the place is told.
            match dock(&piece, &DockerPattern { places, depth_m: Some(0.004) }) {
                Ok(docked) => {
                    prop_assert_eq!(docked.centres_m.len(), count as usize);
                    let mass = piece.docked_mass_kg(&docked, 1250.0);
                    prop_assert!(mass > 0.0 && mass < 1250.0 * area * 0.008 * (1.0 + 1e-12));
                }
                Err(e) => {
                    let e = e.to_string();
                    prop_assert!(e.contains("breaks through the edge") || e.contains("into each other"), "{}", e);
                }
            }
        }
        for arrangement in Arrangement::ALL {
            let laid = on_sheet(&outline, arrangement, 0.003);
            prop_assert!(laid.trim_share > 0.0 && laid.trim_share < 1.0, "{arrangement:?} {}", laid.trim_share);
            let pitches = laid.pitches();
            prop_assert!((pitches.pieces_per_m2() / laid.pieces_per_m2 - 1.0).abs() < 1e-9);
        }
        let straight = on_sheet(&outline, Arrangement::Rectangular, 0.003).trim_share;
        prop_assert!(on_sheet(&outline, Arrangement::Staggered, 0.003).trim_share <= straight + 1e-9);
        prop_assert!(on_sheet(&outline, Arrangement::TurnedPairs, 0.003).trim_share <= straight + 1e-9);
    }

    /// Neighbours of every arrangement keep their gap.
    #[test]
    fn neighbours_keep_their_gap(outline in any_outline(), gap in 0.001..0.006_f64) {
        let ring = outline.polygon(1e-4);
        for arrangement in Arrangement::ALL {
            let laid = on_sheet(&outline, arrangement, gap);
            let mut all = Vec::new();
            for i in -1..=1 {
                for j in -1..=1 {
                    for p in &laid.pieces {
                        let sign = if p.turned { -1.0 } else { 1.0 };
                        let (x, y) = (p.x_m + f64::from(i) * laid.cell_along_m, p.y_m + f64::from(j) * laid.cell_across_m);
                        all.push(ring.iter().map(|c| (sign * c.0 + x, sign * c.1 + y)).collect::<Vec<_>>());
                    }
                }
            }
            let middle = 4 * laid.pieces.len();
            for (k, other) in all.iter().enumerate() {
                if k == middle { continue; }
                let least = other
                    .iter()
                    .flat_map(|a| all[middle].iter().map(move |b| (a.0 - b.0).hypot(a.1 - b.1)))
                    .fold(f64::INFINITY, f64::min);
                prop_assert!(least > gap - 2e-4, "{arrangement:?} {least} {gap}");
            }
        }
    }
}

/// Triangles in turned pairs fill a sheet (geometry).
#[test]
fn triangles_in_turned_pairs_leave_nothing() {
    let triangle =
        Outline::Path(ClosedPath::through(&[(0.0, 0.0), (0.06, 0.0), (0.03, 0.04)]).unwrap());
    let pairs = on_sheet(&triangle, Arrangement::TurnedPairs, 0.0);
    assert!(pairs.trim_share.abs() < 1e-6, "{}", pairs.trim_share);
    let rows = on_sheet(&triangle, Arrangement::Rectangular, 0.0);
    assert!((rows.trim_share - 0.5).abs() < 1e-9);
}

/// Rules of the trade (common practice, from memory): which hole breaks them is told.
#[test]
fn holes_against_the_rules_are_found() {
    let bone = Outline::Bone {
        length_m: 0.060,
        width_m: 0.030,
        neck_m: 0.012,
        lobe_radius_m: 0.0084,
    };
    let with = |outline: &Outline, points: &[(f64, f64)]| {
        let piece = Piece {
            outline: outline.clone(),
            thickness_m: 0.008,
            docker: Some(Docker {
                count: points.len() as u32,
                diameter_m: 0.002,
            }),
        };
        dock(
            &piece,
            &DockerPattern {
                places: Places::Points(points.to_vec()),
                depth_m: None,
            },
        )
    };
    let codes = |points: &[(f64, f64)]| -> Vec<measure::Code> {
        with(&bone, points)
            .unwrap()
            .findings
            .into_iter()
            .map(|f| f.code)
            .collect()
    };
    assert!(codes(&[(0.0, 0.0)]).contains(&Code::DockerInANeck.into()));
    assert!(codes(&[(0.021, 0.006), (0.024, 0.006)]).contains(&Code::DockerHolesClose.into()));
    assert!(codes(&[(0.021, 0.013)]).contains(&Code::DockerNearTheEdge.into()));
    assert!(codes(&[(0.021, 0.006), (-0.021, 0.006)]).contains(&Code::DockerHolesApart.into()));
    let told = with(&bone, &[(0.021, 0.006), (0.0, 0.012)])
        .unwrap_err()
        .to_string();
    assert!(
        told.starts_with("docker hole 2 at (0.00, 12.00) mm lies outside the outline"),
        "{told}"
    );
    let told = with(&bone, &[(0.0, 0.0055)]).unwrap_err().to_string();
    assert!(told.contains("breaks through the edge"), "{told}");
    // The axis of a bone runs through its neck; rows of a bar break no rule.
    let bar = Outline::Bar {
        length_m: 0.06,
        width_m: 0.03,
        corner_radius_m: 0.003,
    };
    assert!(
        with(&bar, &[(-0.01, 0.0), (0.0, 0.0), (0.01, 0.0)])
            .unwrap()
            .findings
            .is_empty()
    );
}

#[test]
fn what_fits_on_no_roll_is_none() {
    let disc = Outline::Round { diameter_m: 0.05 };
    assert!(on_roll(&disc, 0.25, 0.04, 0.004).is_none());
    assert!(on_roll(&disc, 0.01, 1.0, 0.004).is_none());
}
