//! What is kept while a solid bake runs.

use super::grid::Grid;
use super::result::{
    GridTold, MOST_FRAMES, MOST_NUMBERS, PlanMap, SolidAsk, SolidEnd, SolidFrames, SolidHistory,
    SolidPlace, SolidResult, SolidWork,
};
use super::steps::{METHOD, Work};
use crate::bake::colour;
use crate::bake::kernel::{E_UNIT, Fields, Totals};
use crate::bake::kill::{Kill, TOLD_AT_MOST, decades};
use crate::bake::{Account, Profile, StageKind};
use crate::numerics::lanes::{Field, LANES};
use measure::DryBasis;
use measure::temperature::kelvin;

pub(super) struct Record<'a> {
    ask: &'a SolidAsk,
    pub result: SolidResult,
    images: f64,
    totals: Totals,
    at_start: [f64; 2],
    turned_over: f64,
    next_frame: usize,
    /// ln of the browning rate and its integral, per column.
    browning: Vec<(f64, f64)>,
    /// Mean moisture at the last step.
    last: f64,
    stride: usize,
}

fn told(grid: &Grid, images: f64) -> GridTold {
    let faces = || grid.groups.iter().flat_map(|g| &g.faces);
    GridTold {
        nodes: grid.active,
        nodes_in_full: grid.active_in_full,
        columns: grid.columns.len(),
        step_m: grid.plan.step_m,
        cells: grid.nodes - 1,
        mirrored: grid.mirrored,
        volume_m3: images * grid.volume,
        wall_m2: images * faces().map(|f| f.wall).sum::<f64>(),
        hole_wall_m2: images * faces().map(|f| f.hole).sum::<f64>(),
    }
}

impl<'a> Record<'a> {
    pub(super) fn new(ask: &'a SolidAsk, w: &Work) -> Self {
        let grid = &w.grid;
        let images = grid
            .mirrored
            .iter()
            .fold(1.0, |n, m| if *m { 2.0 * n } else { n });
        let held = Work::held(grid, &w.y);
        let [nx, ny] = grid.plan.n;
        let frames = ask.frame_times_s.len().min(MOST_FRAMES);
        let mut stride = 1;
        while frames * 2 * (nx.div_ceil(stride) * (ny.div_ceil(stride) + grid.nodes)) > MOST_NUMBERS
        {
            stride += 1;
        }
        let plan = &grid.plan;
        let thin = |n: usize| n.div_ceil(stride);
        let empty = SolidFrames {
            time_s: Vec::new(),
            mirrored: grid.mirrored,
            plan_points: [thin(nx), thin(ny)],
            plan_step_m: plan.step_m.map(|s| s * stride as f64),
            plan_first_m: plan.first_m,
            section_points: [thin(nx), grid.nodes],
            section_step_m: [plan.step_m[0] * stride as f64, grid.dz],
            section_y_m: plan.first_m[1] + section_row(grid) as f64 * plan.step_m[1],
            plan_moisture: Vec::new(),
            plan_c: Vec::new(),
            section_moisture: Vec::new(),
            section_c: Vec::new(),
        };
        let dry = held[0] / grid.volume;
        let result = SolidResult {
            stages: Vec::new(),
            history: SolidHistory::default(),
            layers: Vec::new(),
            frames: (frames > 0).then_some(empty),
            last_place_hot_s: None,
            last_place_dry_s: None,
            reached_s: None,
            grid: told(grid, images),
            account: Account::default(),
            work: SolidWork::default(),
        };
        let mut record = Self {
            ask,
            result,
            images,
            totals: Totals::default(),
            at_start: held,
            turned_over: (held[1] * w.m.rho_s * E_UNIT).abs(),
            next_frame: 0,
            browning: vec![(0.0, 0.0); grid.columns.len()],
            last: dry,
            stride,
        };
        record.browned(w, 0.0);
        record.push(w, 0.0, dry);
        while record.ask.frame_times_s.get(record.next_frame) == Some(&0.0) {
            record.frame(w, 0.0, 0.0);
        }
        record
    }

    fn celsius(w: &Work, group: usize, k: usize, lane: usize) -> f64 {
        w.fields[group].celsius(k * LANES + lane)
    }

    fn browned(&mut self, w: &Work, h: f64) {
        let top = w.grid.nodes - 1;
        for (c, (ln_rate, sum)) in w.grid.columns.iter().zip(&mut self.browning) {
            let now = colour::ln_rate(kelvin(Self::celsius(w, c.group, top, c.lane)));
            if h > 0.0 {
                *sum += decades(*ln_rate, now, h);
            }
            *ln_rate = now;
        }
    }

    /// Keeps the pictures inside an accepted step, while the state at its start and its stages are there.
    pub(super) fn inside(&mut self, w: &Work, t: f64, h: f64) {
        while let Some(&asked) = self.ask.frame_times_s.get(self.next_frame)
            && asked <= (t + h) * (1.0 + 1e-9)
        {
            self.frame(w, asked, ((asked - t) / h).clamp(0.0, 1.0));
        }
    }

    fn frame(&mut self, w: &Work, time_s: f64, s: f64) {
        self.next_frame += 1;
        let stride = self.stride;
        let Some(frames) = &mut self.result.frames else {
            return;
        };
        if frames.time_s.len() >= MOST_FRAMES {
            return;
        }
        let grid = &w.grid;
        let weights = METHOD.dense_weights(s);
        let value = |group: usize, k: usize, lane: usize| {
            let i = (group * grid.nodes + k) * 2;
            let mut y = [w.y[i][lane], w.y[i + 1][lane]];
            if s > 0.0 {
                for (weight, stage) in weights.iter().zip(&w.stages) {
                    y[0] += weight * stage[i][lane];
                    y[1] += weight * stage[i + 1][lane];
                }
            }
            (y[0] as f32, w.m.celsius(y) as f32)
        };
        let [px, py] = frames.plan_points;
        let mut plan = (vec![f32::NAN; px * py], vec![f32::NAN; px * py]);
        let mut section = (
            vec![f32::NAN; px * grid.nodes],
            vec![f32::NAN; px * grid.nodes],
        );
        let row = section_row(grid);
        for c in &grid.columns {
            let holds = |k: usize| grid.groups[c.group].volume[k][c.lane] > 0.0;
            if !c.i.is_multiple_of(stride) {
                continue;
            }
            let middle = grid.nodes / 2;
            if c.j.is_multiple_of(stride) && holds(middle) {
                let at = c.j / stride * px + c.i / stride;
                (plan.0[at], plan.1[at]) = value(c.group, middle, c.lane);
            }
            if c.j == row {
                for k in (0..grid.nodes).filter(|k| holds(*k)) {
                    let at = k * px + c.i / stride;
                    (section.0[at], section.1[at]) = value(c.group, k, c.lane);
                }
            }
        }
        frames.time_s.push(time_s);
        frames.plan_moisture.push(plan.0);
        frames.plan_c.push(plan.1);
        frames.section_moisture.push(section.0);
        frames.section_c.push(section.1);
    }

    /// Takes in an accepted step that ended at `time_s`; the workspace holds the state and properties at its end.
    pub(super) fn arrive(&mut self, w: &Work, time_s: f64, h: f64, gained: Totals) {
        self.totals.water += gained.water;
        self.totals.heat += gained.heat;
        self.turned_over = self.turned_over.max(self.totals.heat.abs());
        self.result.work.steps += 1;
        self.browned(w, h);
        let mean = (self.at_start[0] - self.totals.water / w.m.rho_s) / w.grid.volume;
        let before = self.last;
        if let Some(until) = self.ask.until
            && self.result.reached_s.is_none()
            && before > until.0
            && mean <= until.0
        {
            self.result.reached_s = Some(self.crossing(w, time_s, h, until.0));
        }
        self.last = mean;
        self.push(w, time_s, mean);
    }

    /// Time inside the last step at which the mean passed a moisture, by the continuous weights of the step.
    fn crossing(&self, w: &Work, time_s: f64, h: f64, moisture: f64) -> f64 {
        let start = self.last;
        let mean = |s: f64| {
            let weights = METHOD.dense_weights(s);
            let out: f64 = weights
                .iter()
                .zip(&w.stage_totals)
                .map(|(a, t)| a * t.water)
                .sum();
            start - out / (w.m.rho_s * w.grid.volume)
        };
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if mean(middle) > moisture {
                low = middle;
            } else {
                high = middle;
            }
        }
        time_s - h + h * high
    }

    fn push(&mut self, w: &Work, time_s: f64, mean: f64) {
        let grid = &w.grid;
        let (mut wettest, mut coldest) = (f64::NEG_INFINITY, f64::INFINITY);
        for (g, group) in grid.groups.iter().enumerate() {
            for k in 0..grid.nodes {
                let i = (g * grid.nodes + k) * 2;
                for l in 0..LANES {
                    if group.volume[k][l] > 0.0 {
                        wettest = wettest.max(w.y[i][l]);
                        coldest = coldest.min(Self::celsius(w, g, k, l));
                    }
                }
            }
        }
        let coldest_k = kelvin(coldest);
        let h = &mut self.result.history;
        let passed = |before: Option<(f64, f64)>, now: f64, mark: f64| {
            before.map_or(time_s, |(t, v)| {
                let share = if now == v {
                    1.0
                } else {
                    (mark - v) / (now - v)
                };
                t + share.clamp(0.0, 1.0) * (time_s - t)
            })
        };
        let last = |v: &[f64]| h.time_s.last().copied().zip(v.last().copied());
        if self.result.last_place_hot_s.is_none() && coldest_k >= self.ask.last_place_k {
            self.result.last_place_hot_s =
                Some(passed(last(&h.coldest_k), coldest_k, self.ask.last_place_k));
        }
        if let Some(mark) = self.ask.last_place_moisture
            && self.result.last_place_dry_s.is_none()
            && wettest <= mark.0
        {
            self.result.last_place_dry_s = Some(passed(last(&h.wettest), wettest, mark.0));
        }
        h.time_s.push(time_s);
        h.mean_moisture.push(mean);
        h.wettest.push(wettest);
        h.coldest_k.push(coldest_k);
        h.water_out_kg.push(self.images * self.totals.water);
        h.enthalpy_in_j.push(self.images * self.totals.heat);
    }

    /// Keeps the means over the plan.
    pub(super) fn layers(&mut self, w: &Work, time_s: f64) {
        let grid = &w.grid;
        let mut sums = vec![[0.0; 3]; grid.nodes];
        for (g, group) in grid.groups.iter().enumerate() {
            for (k, sum) in sums.iter_mut().enumerate() {
                let i = (g * grid.nodes + k) * 2;
                for l in 0..LANES {
                    let v = group.volume[k][l];
                    sum[0] += v;
                    sum[1] += v * w.y[i][l];
                    sum[2] += v * kelvin(Self::celsius(w, g, k, l));
                }
            }
        }
        let mean = |q: usize| sums.iter().map(|s| s[q] / s[0].max(1e-300)).collect();
        self.result.layers.push(Profile {
            time_s,
            moisture: mean(1),
            temperature_k: mean(2),
        });
    }

    /// Keeps the state at the end of a stage and closes the accounts.
    pub(super) fn end_stage(&mut self, w: &Work, name: &str, kind: StageKind, time_s: f64) {
        let grid = &w.grid;
        let held = Work::held(grid, &w.y);
        let dry = w.m.rho_s;
        let heat_unit = dry * E_UNIT;
        let account = &mut self.result.account;
        let gap = |now: f64, start: f64, gained: f64, scale: f64| {
            let gap = (now - start - gained).abs();
            if gap == 0.0 {
                0.0
            } else {
                gap / scale.max(f64::MIN_POSITIVE)
            }
        };
        let water = gap(
            dry * held[0],
            dry * self.at_start[0],
            -self.totals.water,
            dry * self.at_start[0],
        );
        let heat = gap(
            heat_unit * held[1],
            heat_unit * self.at_start[1],
            self.totals.heat,
            self.turned_over.max((heat_unit * held[1]).abs()),
        );
        account.water_rel_error = account.water_rel_error.max(water);
        account.energy_rel_error = account.energy_rel_error.max(heat);
        let end = self.end(w, name, kind, time_s, held[0] / grid.volume);
        self.result.stages.push(end);
    }

    fn end(&self, w: &Work, name: &str, kind: StageKind, time_s: f64, mean: f64) -> SolidEnd {
        let grid = &w.grid;
        let nodes = grid.nodes;
        let moisture = |g: usize, k: usize, l: usize| w.y[(g * nodes + k) * 2][l];
        let (mut edge, mut surface, mut middle) = ([0.0; 2], [0.0; 2], [0.0; 2]);
        let count = |sum: &mut [f64; 2], weight: f64, v: f64| {
            sum[0] += weight;
            sum[1] += weight * v;
        };
        for (g, group) in grid.groups.iter().enumerate() {
            for face in &group.faces {
                let (k, l) = (face.place as usize / LANES, face.place as usize % LANES);
                count(&mut edge, face.wall, moisture(g, k, l));
                count(&mut surface, face.top + face.bottom, moisture(g, k, l));
            }
            for l in 0..LANES {
                count(
                    &mut middle,
                    group.volume[nodes / 2][l],
                    moisture(g, nodes / 2, l),
                );
            }
        }
        let mut spread = 0.0;
        let (mut wettest, mut driest, mut least) = (None, None, None);
        let more = |best: &mut Option<(f64, usize, usize)>, v: f64, c: usize, k: usize| {
            if best.is_none_or(|b| v > b.0) {
                *best = Some((v, c, k));
            }
        };
        let mut maps = [vec![], vec![]];
        for map in &mut maps {
            map.resize(grid.plan.n[0] * grid.plan.n[1], f32::NAN);
        }
        let (mut colours, mut most_brown) = ([0.0; 2], 0.0_f64);
        for (number, c) in grid.columns.iter().enumerate() {
            let (mut water, mut volume) = (0.0, 0.0);
            for k in 0..nodes {
                let v = grid.groups[c.group].volume[k][c.lane];
                if v > 0.0 {
                    let x = moisture(c.group, k, c.lane);
                    water += v * x;
                    volume += v;
                    spread += v * (x - mean) * (x - mean);
                    more(&mut wettest, x, number, k);
                    more(&mut driest, -x, number, k);
                    let kill = w.fields[c.group].kill_sum.0[k * LANES + c.lane];
                    more(&mut least, -kill, number, k);
                }
            }
            let at = c.j * grid.plan.n[0] + c.i;
            if volume > 0.0 {
                maps[0][at] = (water / volume) as f32;
            }
            if grid.groups[c.group].volume[nodes - 1][c.lane] > 0.0 {
                let brown = colour::delta_e(self.browning[number].1);
                maps[1][at] = brown as f32;
                most_brown = most_brown.max(brown);
                colours = [colours[0] + c.area, colours[1] + c.area * brown];
            }
        }
        let deepest = (0..grid.columns.len())
            .filter(|c| {
                let c = &grid.columns[*c];
                grid.groups[c.group].volume[nodes / 2][c.lane] > 0.0
            })
            .max_by(|a, b| grid.columns[*a].depth.total_cmp(&grid.columns[*b].depth))
            .unwrap_or(0);
        let place = |c: usize, k: usize| {
            let column = &grid.columns[c];
            let i = (column.group * nodes + k) * 2;
            let y = [w.y[i][column.lane], w.y[i + 1][column.lane]];
            SolidPlace {
                x_m: grid.plan.first_m[0] + column.i as f64 * grid.plan.step_m[0],
                y_m: grid.plan.first_m[1] + column.j as f64 * grid.plan.step_m[1],
                z_m: k as f64 * grid.dz,
                moisture: DryBasis(y[0]),
                temperature_k: kelvin(w.m.celsius(y)),
            }
        };
        let of = |best: Option<(f64, usize, usize)>| best.map_or((0, 0), |(_, c, k)| (c, k));
        let at_least = of(least);
        let kill = {
            let c = &grid.columns[at_least.0];
            let (f, i) = (&w.fields[c.group], at_least.1 * LANES + c.lane);
            let (log10, outside) = (f.kill_sum.0[i], f.kill_outside.0[i]);
            let least = |of: fn(&Fields) -> &Field| {
                let sums = grid.columns.iter().flat_map(|c| {
                    let held = (0..nodes).filter(|k| grid.groups[c.group].volume[*k][c.lane] > 0.0);
                    held.map(|k| of(&w.fields[c.group]).0[k * LANES + c.lane])
                });
                sums.fold(f64::INFINITY, f64::min)
            };
            Kill {
                log10,
                extrapolated_log10: least(|f| &f.hot_sum),
                wet_phase_log10: least(|f| &f.wet_sum),
                beyond_tested_range: outside > 0.01 * log10 || log10 > TOLD_AT_MOST,
            }
        };
        let ratio = |sum: [f64; 2]| DryBasis(if sum[0] > 0.0 { sum[1] / sum[0] } else { mean });
        let [moisture_map, colour_map] = maps.map(|values| whole(grid, &values));
        SolidEnd {
            name: name.to_owned(),
            kind,
            time_s,
            mean_moisture: DryBasis(mean),
            edge_moisture: ratio(edge),
            centre: place(deepest, nodes / 2),
            surface_moisture: ratio(surface),
            middle_moisture: ratio(middle),
            wettest: place(of(wettest).0, of(wettest).1),
            driest: place(of(driest).0, of(driest).1),
            moisture_sd: (spread / grid.volume).sqrt(),
            kill,
            kill_least_at: place(at_least.0, at_least.1),
            colour_mean_delta_e: if colours[0] > 0.0 {
                colours[1] / colours[0]
            } else {
                0.0
            },
            colour_most_delta_e: most_brown,
            moisture_map,
            colour_map,
        }
    }
}

/// The row of columns the section goes through: the middle of the piece.
fn section_row(grid: &Grid) -> usize {
    if grid.mirrored[1] {
        0
    } else {
        grid.plan.n[1] / 2
    }
}

/// A map of the whole piece from the half or quarter that was followed.
fn whole(grid: &Grid, values: &[f32]) -> PlanMap {
    let plan = &grid.plan;
    let points = [0, 1].map(|a| {
        if grid.mirrored[a] {
            2 * plan.n[a] - 1
        } else {
            plan.n[a]
        }
    });
    let first_m = [0, 1].map(|a| {
        let back = if grid.mirrored[a] { plan.n[a] - 1 } else { 0 };
        plan.first_m[a] - back as f64 * plan.step_m[a]
    });
    let fold = |i: usize, a: usize| {
        if grid.mirrored[a] {
            i.abs_diff(plan.n[a] - 1)
        } else {
            i
        }
    };
    let values = (0..points[1])
        .flat_map(|j| (0..points[0]).map(move |i| (i, j)))
        .map(|(i, j)| values[fold(j, 1) * plan.n[0] + fold(i, 0)])
        .collect();
    PlanMap {
        points,
        step_m: plan.step_m,
        first_m,
        values,
    }
}
