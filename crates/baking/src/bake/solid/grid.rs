//! The piece in columns of nodes: what each node holds and what it exchanges with its neighbours.
//!
//! Columns stand on the cells of the [`Footprint`], with nodes at the bottom, at the top and evenly between. They
//! are coloured like a chessboard, so that a column's neighbours are all of the other colour, and lie
//! [`LANES`] abreast in groups of one colour.

use super::super::edge::HOLE_SHARE;
use super::error::SolidError;
use super::footprint::Footprint;
use crate::numerics::lanes::{LANES, Lanes};
use crate::piece::{Docked, Piece};
use measure::Range;
use serde::Serialize;

/// How fine the grid is and what it takes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SolidGrid {
    /// Largest distance between columns \[m\].
    pub plan_m: f64,
    /// Cells through the thickness; an even number.
    pub cells: usize,
    /// Share of the surface transfer that reaches the wall of a docker hole, 0 to 1.
    pub hole_share: f64,
    /// Whether mirror symmetry is used where there is any.
    pub symmetry: bool,
}

impl SolidGrid {
    /// Columns 0.8 mm apart and 16 cells: within 0.5 % of the time on a refined grid.
    pub const USUAL: Self = Self {
        plan_m: 8e-4,
        cells: 16,
        hole_share: HOLE_SHARE.value,
        symmetry: true,
    };
    /// Twice as coarse, for a first look.
    pub const PREVIEW: Self = Self {
        plan_m: 2e-3,
        cells: 10,
        ..Self::USUAL
    };

    /// Refuses a grid outside what is allowed for a piece.
    pub(super) fn check(&self, piece: &Piece) -> Result<(), SolidError> {
        let (asked, thickness_m, extent) = (self, piece.thickness_m, piece.outline.extent_m());
        let wrong = |field: &'static str, value: f64, allowed: String| {
            SolidError::from(crate::bake::BakeError::from(crate::bake::InputError::new(
                field, value, allowed,
            )))
        };
        if !PLAN_M.contains(asked.plan_m) || asked.plan_m > 0.5 * extent.0.min(extent.1) {
            let most = PLAN_M.high.min(0.5 * extent.0.min(extent.1));
            return Err(wrong(
                "grid: distance between columns (mm)",
                asked.plan_m * 1e3,
                format!("{} to {:.2}", PLAN_M.low * 1e3, most * 1e3),
            ));
        }
        if !(4..=400).contains(&asked.cells) || !asked.cells.is_multiple_of(2) {
            return Err(wrong(
                "grid: cells through the thickness",
                asked.cells as f64,
                "an even number from 4 to 400".into(),
            ));
        }
        if !(0.0..=1.0).contains(&asked.hole_share) {
            return Err(wrong("grid: hole share", asked.hole_share, "0 to 1".into()));
        }
        if thickness_m < 2.0 * LEAST_CELL_M {
            return Err(wrong(
                "thickness_m",
                thickness_m,
                format!("at least {} m, two cells", 2.0 * LEAST_CELL_M),
            ));
        }
        Ok(())
    }
}

/// Nodes that a bake takes a few seconds for.
pub const USUAL_NODES: usize = 60_000;

impl SolidGrid {
    /// The same grid, as much coarser in plan as a piece needs that is too large for `most_nodes`; symmetry is counted.
    pub fn fitting(self, piece: &Piece, docked: &Docked, most_nodes: usize) -> Self {
        let extent = piece.outline.extent_m();
        let coarse = 0.05 * extent.0.min(extent.1);
        let ring = piece.outline.polygon(0.01 * coarse);
        let plan = Footprint::new(&ring, docked, [coarse; 2]);
        let images = [0, 1]
            .into_iter()
            .filter(|axis| self.symmetry && plan.mirrors(*axis))
            .fold(1.0, |n, _| 2.0 * n);
        let columns = (most_nodes.max(1) as f64) / (self.cells + 1) as f64;
        let least = (piece.outline.area_m2() / (images * columns)).sqrt();
        Self {
            plan_m: self.plan_m.max(least).min(0.25 * extent.0.min(extent.1)),
            ..self
        }
    }
}

/// Most nodes after symmetry; they take about 200 MB.
pub const MOST_NODES: usize = 220_000;
/// A column with less than this share of a full cell joins a neighbour.
///
/// - Units: \[1\]
/// - Source: a numerical limit, chosen here
const LEAST_SHARE: f64 = 0.01;
/// Distance between columns \[m\].
const PLAN_M: Range = Range::new(1e-4, 0.02);

/// Directions: back and on along x, back and on along y.
pub(super) const SIDES: usize = 4;

/// Geometry of a group of columns; per node and lane.
#[derive(Clone, Debug)]
pub(super) struct Group {
    /// Volume \[m³\]; nought in a hole and in empty lanes.
    pub volume: Vec<Lanes>,
    /// Area over distance to the node above \[m\].
    pub above: Vec<Lanes>,
    /// Area over distance to the neighbour on each side \[m\].
    pub side: [Vec<Lanes>; SIDES],
    /// Column on each side, counted within its colour.
    pub neighbour: [[u32; LANES]; SIDES],
    /// Nodes with a surface.
    pub faces: Vec<Face>,
}

/// The surfaces of a node \[m²\].
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Face {
    /// Which node, times [`LANES`] plus the lane.
    pub place: u32,
    pub top: f64,    // no unit in the name: m²
    pub bottom: f64, // no unit in the name: m²
    pub wall: f64,   // no unit in the name: m²
    pub hole: f64,   // no unit in the name: m²
}

/// A column of the grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Column {
    pub i: usize,
    pub j: usize,
    /// Which group, and the lane in it.
    pub group: usize,
    pub lane: usize,
    /// Area without the holes \[m²\].
    pub area: f64,
    /// Length of outer wall \[m\].
    pub wall: f64,
    /// Distance of its middle from the nearest wall cell \[m\].
    pub depth: f64,
}

/// The grid of one piece.
#[derive(Clone, Debug)]
pub(super) struct Grid {
    pub nodes: usize,
    /// Distance between nodes upward \[m\].
    pub dz: f64,
    pub groups: Vec<Group>,
    /// Groups of the first colour; they come first.
    pub reds: usize,
    pub columns: Vec<Column>,
    pub plan: Footprint,
    /// Whether only the half beyond the middle of x, of y is followed.
    pub mirrored: [bool; 2],
    /// Total volume followed \[m³\].
    pub volume: f64,
    /// Nodes that hold dough, and what they would be without symmetry.
    pub active: usize,
    pub active_in_full: usize,
}

struct Cell {
    outline: f64,
    hole: f64,
    wall: f64,
    hole_wall: f64,
}

impl Grid {
    pub(super) fn new(
        piece: &Piece,
        docked: &Docked,
        asked: &SolidGrid,
    ) -> Result<Self, SolidError> {
        let (length_m, width_m) = piece.outline.extent_m();
        asked.check(piece)?;
        let ring = piece
            .outline
            .polygon((2e-5 * length_m.min(width_m)).min(0.005 * asked.plan_m));
        let mut plan = Footprint::new(&ring, docked, [asked.plan_m; 2]);
        let mut mirrored = [false; 2];
        if asked.symmetry {
            mirrored = [plan.mirrors(0), plan.mirrors(1)];
            for axis in [0, 1] {
                if mirrored[axis] {
                    plan = plan.halved(axis);
                }
            }
        }
        let nodes = asked.cells + 1;
        let held = plan.outline.area.iter().filter(|a| **a > 0.0).count() * nodes;
        if held > MOST_NODES {
            return Err(SolidError::TooFine {
                nodes: held,
                most: MOST_NODES,
                plan_mm: asked.plan_m * 1e3,
                cells: asked.cells,
                advised_mm: (asked.plan_m * 1e3 * (held as f64 / MOST_NODES as f64).sqrt() * 10.0)
                    .ceil()
                    / 10.0,
            });
        }
        Ok(Builder::new(plan, docked, piece.thickness_m, asked.cells).build(mirrored))
    }
}

/// Thinnest cell that is followed \[m\].
///
/// - Source: a numerical limit, chosen here
const LEAST_CELL_M: f64 = 2e-5;

struct Builder {
    plan: Footprint,
    cells: Vec<Cell>,
    /// Apertures of outline and holes along x and y; nought where a cell was joined to another.
    sides: [Vec<(f64, f64)>; 2],
    kept: Vec<bool>,
    dz: f64,
    nodes: usize,
    thickness_m: f64,
    depth_m: f64,
    through: bool,
}

impl Builder {
    fn new(plan: Footprint, docked: &Docked, thickness_m: f64, cells: usize) -> Self {
        let pairs = |axis: usize| {
            let (a, b) = (&plan.outline.sides[axis], &plan.holes.sides[axis]);
            a.iter().zip(b).map(|(a, b)| (*a, b.min(*a))).collect()
        };
        let sides = [pairs(0), pairs(1)];
        let o = &plan.outline;
        let h = &plan.holes;
        let list: Vec<Cell> = (0..o.area.len())
            .map(|c| Cell {
                outline: o.area[c],
                hole: h.area[c].min(o.area[c]),
                wall: o.wall[c],
                hole_wall: h.wall[c],
            })
            .collect();
        let none = docked.centres_m.is_empty();
        Self {
            kept: vec![true; list.len()],
            cells: list,
            sides,
            plan,
            dz: thickness_m / cells as f64,
            nodes: cells + 1,
            thickness_m,
            depth_m: if none { 0.0 } else { docked.depth_m },
            through: docked.through && !none,
        }
    }

    /// Side between a cell and its neighbour in a direction: axis, and the cell that keeps the number.
    fn side(&self, c: usize, direction: usize) -> Option<(usize, usize, usize)> {
        let [nx, ny] = self.plan.n;
        let (i, j) = (c % nx, c / nx);
        match direction {
            0 if i > 0 => Some((0, c - 1, c - 1)),
            1 if i + 1 < nx => Some((0, c, c + 1)),
            2 if j > 0 => Some((1, c - nx, c - nx)),
            3 if j + 1 < ny => Some((1, c, c + nx)),
            _ => None,
        }
    }

    /// Nominal area of a cell: half on the outer grid lines, which are borders or mirrors.
    fn full(&self, c: usize) -> f64 {
        let [nx, ny] = self.plan.n;
        let (i, j) = (c % nx, c / nx);
        let part = |i: usize, n: usize| if i == 0 || i + 1 == n { 0.5 } else { 1.0 };
        self.plan.step_m[0] * self.plan.step_m[1] * part(i, nx) * part(j, ny)
    }

    /// Joins cells that hold too little to the neighbour with the widest opening.
    fn join(&mut self) {
        for c in 0..self.cells.len() {
            let cell = &self.cells[c];
            let net = if self.through {
                cell.outline - cell.hole
            } else {
                cell.outline
            };
            let full = self.full(c);
            if !self.through && cell.outline - cell.hole < LEAST_SHARE * full {
                self.cells[c].hole = self.cells[c].outline;
                for direction in 0..SIDES {
                    if let Some((axis, keeper, _)) = self.side(c, direction) {
                        self.sides[axis][keeper].1 = self.sides[axis][keeper].0;
                    }
                }
            }
            if net >= LEAST_SHARE * full {
                continue;
            }
            self.kept[c] = false;
            let mut best: Option<(f64, usize)> = None;
            for direction in 0..SIDES {
                let Some((axis, keeper, other)) = self.side(c, direction) else {
                    continue;
                };
                let (open, hole) = self.sides[axis][keeper];
                self.sides[axis][keeper] = (0.0, 0.0);
                let score = (open - hole).max(0.0) + 1e-9 * self.cells[other].outline;
                let takes = self.kept[other] && self.cells[other].outline > 0.0;
                if takes && best.is_none_or(|b| score > b.0) {
                    best = Some((score, other));
                }
            }
            if let Some((_, other)) = best {
                let Cell {
                    outline,
                    hole,
                    wall,
                    hole_wall,
                } = self.cells[c];
                let to = &mut self.cells[other];
                to.outline += outline;
                to.hole += hole;
                to.wall += wall;
                to.hole_wall += hole_wall;
            }
        }
    }

    /// Height of a node's share of the piece, and of the hole in it.
    fn heights(&self, k: usize) -> (f64, f64) {
        let low = ((k as f64 - 0.5) * self.dz).max(0.0);
        let high = ((k as f64 + 0.5) * self.dz).min(self.thickness_m);
        let floor = self.thickness_m - self.depth_m;
        let inside = (high - low.max(floor)).clamp(0.0, high - low);
        (high - low, if self.through { high - low } else { inside })
    }

    fn build(mut self, mirrored: [bool; 2]) -> Grid {
        self.join();
        let [nx, ny] = self.plan.n;
        let mut columns = Vec::new();
        let mut place = vec![None; nx * ny];
        let mut groups = 0;
        let mut reds = 0;
        for colour in [0, 1] {
            let mut count = 0;
            for c in (0..nx * ny).filter(|c| self.kept[*c] && (c % nx + c / nx) % 2 == colour) {
                let cell = &self.cells[c];
                place[c] = Some(count);
                columns.push(Column {
                    i: c % nx,
                    j: c / nx,
                    group: groups + count / LANES,
                    lane: count % LANES,
                    area: cell.outline - if self.through { cell.hole } else { 0.0 },
                    wall: cell.wall,
                    depth: 0.0,
                });
                count += 1;
            }
            groups += count.div_ceil(LANES).max(1);
            if colour == 0 {
                reds = groups;
            }
        }
        let mut grid = Grid {
            nodes: self.nodes,
            dz: self.dz,
            groups: vec![self.empty_group(); groups],
            reds,
            plan: self.plan.clone(),
            mirrored,
            volume: 0.0,
            active: 0,
            active_in_full: 0,
            columns,
        };
        self.fill(&mut grid, &place);
        self.depths(&mut grid.columns, mirrored);
        grid
    }

    fn empty_group(&self) -> Group {
        let none = vec![[0.0; LANES]; self.nodes];
        Group {
            volume: none.clone(),
            above: none.clone(),
            side: std::array::from_fn(|_| none.clone()),
            neighbour: [[0; LANES]; SIDES],
            faces: Vec::new(),
        }
    }

    fn fill(&self, grid: &mut Grid, place: &[Option<usize>]) {
        let nx = self.plan.n[0];
        let floor = self.thickness_m - self.depth_m;
        for column in &grid.columns {
            let c = column.j * nx + column.i;
            let cell = &self.cells[c];
            let group = &mut grid.groups[column.group];
            let l = column.lane;
            let images = (0..2)
                .filter(|a| grid.mirrored[*a] && [column.i, column.j][*a] > 0)
                .fold(1, |n, _| 2 * n);
            for k in 0..self.nodes {
                let (height, hole) = self.heights(k);
                let volume = (cell.outline * height - cell.hole * hole).max(0.0);
                // What is left of a cell beside a hole may be next to nothing: then it is nothing.
                let volume = if volume < 1e-3 * self.full(c) * height {
                    0.0
                } else {
                    volume
                };
                group.volume[k][l] = volume;
                if volume > 0.0 {
                    grid.active += 1;
                    grid.active_in_full += images;
                    grid.volume += volume;
                }
            }
            for k in 0..self.nodes {
                if group.volume[k][l] == 0.0 {
                    continue;
                }
                let (height, hole) = self.heights(k);
                let open = |at: f64| self.through || at > floor;
                let area = |at: f64| cell.outline - if open(at) { cell.hole } else { 0.0 };
                if k + 1 < self.nodes && group.volume[k + 1][l] > 0.0 {
                    group.above[k][l] = area((k as f64 + 0.5) * self.dz) / self.dz;
                }
                let mut face = Face {
                    place: (k * LANES + l) as u32,
                    wall: cell.wall * height,
                    hole: cell.hole_wall * hole,
                    ..Face::default()
                };
                if k + 1 == self.nodes {
                    let holed = if self.depth_m > 0.0 { cell.hole } else { 0.0 };
                    face.top = cell.outline - holed;
                }
                if k == 0 {
                    face.bottom = cell.outline - if self.through { cell.hole } else { 0.0 };
                }
                let low = (k as f64 - 0.5) * self.dz;
                if !self.through && self.depth_m > 0.0 && floor > low && floor <= low + self.dz {
                    face.hole += cell.hole;
                }
                if face.top + face.bottom + face.wall + face.hole > 0.0 {
                    group.faces.push(face);
                }
            }
        }
        self.link(grid, place);
    }

    /// Openings between columns; both sides get the same number.
    fn link(&self, grid: &mut Grid, place: &[Option<usize>]) {
        let nx = self.plan.n[0];
        for at in 0..grid.columns.len() {
            let column = grid.columns[at];
            let c = column.j * nx + column.i;
            let other_start = if column.group < grid.reds {
                grid.reds
            } else {
                0
            };
            for direction in 0..SIDES {
                let Some((axis, keeper, other)) = self.side(c, direction) else {
                    continue;
                };
                let Some(number) = place[other] else { continue };
                let (open, holed) = self.sides[axis][keeper];
                grid.groups[column.group].neighbour[direction][column.lane] = number as u32;
                let (there, lane) = (other_start + number / LANES, number % LANES);
                for k in 0..self.nodes {
                    let (height, hole) = self.heights(k);
                    let both = grid.groups[column.group].volume[k][column.lane] > 0.0
                        && grid.groups[there].volume[k][lane] > 0.0;
                    if both {
                        let opening = (open * height - holed * hole).max(0.0);
                        grid.groups[column.group].side[direction][k][column.lane] =
                            opening / self.plan.step_m[axis];
                    }
                }
            }
        }
    }

    /// Distance of every column from the nearest one with a wall, a hair less away from the middle.
    fn depths(&self, columns: &mut [Column], mirrored: [bool; 2]) {
        let nx = self.plan.n[0];
        let [dx, dy] = self.plan.step_m;
        let place = |c: &Column| (c.i as f64 * dx, c.j as f64 * dy);
        let walls: Vec<(f64, f64)> = columns
            .iter()
            .filter(|c| c.wall + self.cells[c.j * nx + c.i].hole_wall > 0.0)
            .map(place)
            .collect();
        let [x, y] = [0, 1].map(|axis| {
            if mirrored[axis] {
                0.0
            } else {
                0.5 * (self.plan.n[axis] - 1) as f64 * self.plan.step_m[axis]
            }
        });
        for c in columns {
            let at = place(c);
            let distance = |w: &(f64, f64)| (w.0 - at.0).hypot(w.1 - at.1);
            let nearest = walls.iter().map(distance).fold(f64::INFINITY, f64::min);
            c.depth = nearest.min(1.0) - 1e-3 * distance(&(x, y));
        }
    }
}
