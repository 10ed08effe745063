//! The solid bake against itself and the laws it has to keep.
#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::case::Benchmark;
use baking::bake::solid::{SolidAsk, SolidGrid, SolidPiece, SolidResult, solid_bake};
use baking::bake::{BakeInput, Edge};
use baking::piece::{Docker, DockerPattern, Outline, Piece, Places, dock};
use measure::WetBasis;

/// The bone of the reference runs: 60 × 30 × 8 mm with five holes of 2 mm along its middle.
fn bone(holes: u32) -> Piece {
    Piece {
        outline: Outline::Bone {
            length_m: 0.060,
            width_m: 0.030,
            neck_m: 0.012,
            lobe_radius_m: 0.0108,
        },
        thickness_m: 0.008,
        docker: (holes > 0).then_some(Docker {
            count: holes,
            diameter_m: 0.002,
        }),
    }
}

fn oven(exposure: f64) -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.edge = Some(Edge::of(139.0, exposure));
    input.accuracy = baking::bake::Accuracy::Quick;
    input
}

fn bake(input: &BakeInput, piece: &Piece, places: Places, grid: &SolidGrid) -> SolidResult {
    let pattern = DockerPattern {
        places,
        depth_m: None,
    };
    let docked = dock(piece, &pattern).unwrap();
    let ask = SolidAsk {
        until: Some(WetBasis(0.08).to_dry()),
        ..SolidAsk::default()
    };
    let solid = SolidPiece {
        piece,
        docked: &docked,
    };
    solid_bake(input, solid, grid, &ask, &mut |_| true).unwrap()
}

#[test]
fn first_look() {
    let input = oven(0.5);
    for (mm, cells) in [(2.0, 12), (1.0, 16), (1.0, 24), (0.5, 24)] {
        let grid = SolidGrid {
            plan_m: mm * 1e-3,
            cells,
            ..SolidGrid::USUAL
        };
        for holes in [0, 5] {
            let t = std::time::Instant::now();
            let r = bake(&input, &bone(holes), Places::Axis, &grid);
            println!(
                "{mm} {cells} {holes}: {:.2}s t8 {:?} steps {:?} {:?} {:?}",
                t.elapsed().as_secs_f64(),
                r.reached_s,
                r.work,
                r.account,
                r.grid
            );
        }
    }
}
