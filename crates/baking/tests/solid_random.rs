//! Any valid outline and docker pattern bakes: 500 of them, on coarse grids.
#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::case::Benchmark;
use baking::bake::solid::{SolidAsk, SolidGrid, SolidPiece, solid_bake};
use baking::bake::{Accuracy, Edge, StageKind};
use baking::piece::{ClosedPath, Docker, DockerPattern, Outline, Piece, Places, dock};

/// Numbers of a fixed sequence, 0 to 1 (the generator of L'Ecuyer and Simard's tests with 64 bits, splitmix).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

fn outline(n: &mut Numbers) -> Outline {
    let length_m = n.between(0.015, 0.09);
    let width_m = length_m * n.between(0.3, 1.0);
    match (n.next() * 4.0) as usize {
        0 => Outline::Round {
            diameter_m: length_m,
        },
        1 => Outline::Bar {
            length_m,
            width_m,
            corner_radius_m: 0.5 * width_m * n.next(),
        },
        2 => {
            let (least, most) = (0.25 * width_m, (0.5 * width_m).min(0.25 * length_m));
            Outline::Bone {
                length_m,
                width_m,
                neck_m: width_m * n.between(0.15, 1.0),
                lobe_radius_m: n.between(least, most.max(least)),
            }
        }
        _ => {
            // A star-like polygon about a middle.
            let corners = 3 + (n.next() * 8.0) as usize;
            let turn = n.between(0.0, 2.0 * std::f64::consts::PI);
            let points: Vec<(f64, f64)> = (0..corners)
                .map(|i| {
                    let angle = turn + 2.0 * std::f64::consts::PI * i as f64 / corners as f64;
                    let r = 0.5 * length_m * n.between(0.4, 1.0);
                    (r * angle.cos(), r * angle.sin())
                })
                .collect();
            Outline::Path(ClosedPath::through(&points).unwrap())
        }
    }
}

#[test]
fn every_valid_piece_bakes() {
    let mut n = Numbers(20);
    let (mut baked, mut docked_ones, mut steps) = (0, 0, 0);
    let mut tried = 0;
    while baked < 500 {
        tried += 1;
        assert!(tried < 3000, "too few of the pieces drawn are valid");
        let thickness_m = n.between(0.003, 0.016);
        let count = (n.next() * 9.0) as u32;
        let piece = Piece {
            outline: outline(&mut n),
            thickness_m,
            docker: (count > 0).then_some(Docker {
                count,
                diameter_m: n.between(0.0008, 0.004),
            }),
        };
        let places = match (n.next() * 3.0) as usize {
            0 => Places::Grid,
            1 => Places::Axis,
            _ => Places::Ring { diameter_m: None },
        };
        let depth_m = (n.next() < 0.4).then(|| thickness_m * n.between(0.1, 1.0));
        let (hole_share, exposure, doughs) = (n.next(), n.next(), n.next());
        if piece.check().is_err() {
            continue;
        }
        let Ok(docked) = dock(&piece, &DockerPattern { places, depth_m }) else {
            continue;
        };
        let benchmark = Benchmark::ALL[(3.0 * doughs) as usize];
        let mut input = benchmark.case().input;
        input.thickness_m = thickness_m;
        input.edge = Some(Edge::of(100.0, exposure));
        input.accuracy = Accuracy::Tolerance(3e-2);
        input.stages.retain(|s| s.kind == StageKind::Oven);
        let extent = piece.outline.extent_m();
        let grid = SolidGrid {
            plan_m: (extent.0.min(extent.1) / 6.0).max(1.2e-3),
            cells: 4,
            hole_share,
            symmetry: true,
        };
        let solid = SolidPiece {
            piece: &piece,
            docked: &docked,
        };
        let r = solid_bake(&input, solid, &grid, &SolidAsk::default(), &mut |_| true)
            .unwrap_or_else(|e| panic!("{piece:?} {docked:?}: {e}"));
        let end = r.stages.last().unwrap();
        assert!(
            end.mean_moisture.0 > 0.0 && end.mean_moisture.0 < 0.6,
            "{piece:?}"
        );
        assert!(
            end.driest.moisture.0 > -1e-3 && end.wettest.moisture.0 < 1.0,
            "{piece:?}"
        );
        assert!(r.account.water_rel_error < 1e-8 && r.account.energy_rel_error < 1e-8);
        let volume = piece.outline.area_m2() * thickness_m - docked.volume_m3();
        assert!(
            (r.grid.volume_m3 / volume - 1.0).abs() < 0.02,
            "{piece:?} {docked:?} {:?}",
            r.grid
        );
        baked += 1;
        steps += r.work.steps;
        docked_ones += usize::from(!docked.centres_m.is_empty());
    }
    println!(
        "{baked} of {tried} drawn baked, {docked_ones} with holes, {} steps each",
        steps / baked
    );
    assert!(docked_ones > 100);
}
