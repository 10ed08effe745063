//! Bakes that were read, and what the model says of every reading: value, derivatives, scatter.

use crate::parameter::Chosen;
use crate::reading::{PROBE_PLACE, TIMING};
use crate::{Kind, Row};
use baking::bake::derivatives::{Quantity, Reading, bake_with_derivatives};
use baking::bake::search::{Cooling, stretched};
use baking::bake::{Ask, BakeInput, Direction, Multiplier, StageKind, Workspace};
use measure::{Constant, Grade, Range};
use nalgebra::DMatrix;

/// How far heat transfer differs from bake to bake of one oven.
pub static BAKE_HEAT: Constant = Constant {
    name: "heat transfer from bake to bake",
    value: 0.07,
    unit: "sd of the logarithm",
    range: Range::new(0.0, 1.0),
    source: "repeated bakes of one bread lay 2.5 to 8.5 K apart, about a minute in time; carried over to biscuits, judgement",
    grade: Grade::Assumed,
};
/// How far the dough's moisture differs from bake to bake.
pub static BAKE_MOISTURE: Constant = Constant {
    name: "moisture of the dough from bake to bake",
    value: 0.02,
    unit: "sd of the logarithm",
    range: Range::new(0.0, 1.0),
    source: "weighing and flour, judgement",
    grade: Grade::Assumed,
};
/// How far the model itself may be off in moisture.
pub static MODEL_MOISTURE: Constant = Constant {
    name: "error of the model itself in moisture",
    value: 0.01,
    unit: "kg/kg dry solid, sd",
    range: Range::new(0.0, 0.5),
    source: "with it a nominal 95 % covered 92 % of the points of a published bread that weren't fitted, without it 71 % (computed); default until several bakes tell it",
    grade: Grade::Assumed,
};
/// And in temperature.
pub static MODEL_TEMPERATURE: Constant = Constant {
    name: "error of the model itself in temperature",
    value: 5.0,
    unit: "K, sd",
    range: Range::new(0.0, 50.0),
    source: "as that in moisture",
    grade: Grade::Assumed,
};
/// Over which time that error keeps its sign.
pub static MODEL_MEMORY: Constant = Constant {
    name: "time over which the error of the model keeps its sign",
    value: 240.0,
    unit: "s",
    range: Range::new(1.0, 3600.0),
    source: "as that in moisture",
    grade: Grade::Assumed,
};

/// A bake of one's own, at the best values of everything.
#[derive(Clone, Debug)]
pub struct OwnBake {
    /// Its name in the table.
    pub name: String,
    /// What was baked.
    pub input: BakeInput,
}

/// One run of the model: a bake up to its last reading, or one that ended at a time and was cooled.
#[derive(Clone, Debug)]
struct Run {
    bake: usize,
    input: BakeInput,
    /// Places of its rows, rising in time, and what is read for each.
    rows: Vec<(usize, Reading)>,
}

/// Bakes with their readings.
#[derive(Clone, Debug)]
pub struct Bakes {
    /// The bakes.
    pub bakes: Vec<OwnBake>,
    /// The readings.
    pub rows: Vec<Row>,
    /// What is learned from them.
    pub chosen: Vec<Chosen>,
    /// The bake of each row.
    of: Vec<usize>,
    runs: Vec<Run>,
}

/// What the model says of every row.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    /// Values: a share of mass left, a moisture (wet basis), a temperature \[K\].
    pub values: Vec<f64>,
    /// Derivatives by every place: of what is learned, then heat and moisture of each bake.
    pub slopes: DMatrix<f64>,
    /// By time \[1/s\], by height share, and by an error of the dry-basis moisture.
    pub per_s: Vec<f64>,
    pub per_height: Vec<f64>,
    pub per_moisture: Vec<f64>,
}

impl Bakes {
    /// The bakes that rows are of. `input` is the bake at the best values with its oven, cooling and pack; a bake with a
    /// cooled end takes the oven's zones at the band speed of that end, and one that was read for longer stays in the last
    /// zone.
    pub fn new(input: &BakeInput, rows: Vec<Row>, chosen: Vec<Chosen>) -> Self {
        let mut names: Vec<String> = Vec::new();
        let mut of = Vec::with_capacity(rows.len());
        for row in &rows {
            let place = names.iter().position(|n| *n == row.bake);
            of.push(place.unwrap_or_else(|| {
                names.push(row.bake.clone());
                names.len() - 1
            }));
        }
        let (mut bakes, mut runs) = (Vec::new(), Vec::new());
        for (bake, name) in names.into_iter().enumerate() {
            let own = |kind: bool| {
                let all = rows.iter().enumerate().filter(|(i, _)| of[*i] == bake);
                let mut kept: Vec<usize> = all
                    .filter(|(_, r)| (r.kind == Kind::EndMoisture) == kind)
                    .map(|(i, _)| i)
                    .collect();
                kept.sort_by(|a, b| rows[*a].time_s.total_cmp(&rows[*b].time_s));
                kept
            };
            let (ends, pulled) = (own(true), own(false));
            let mut plain = input.clone();
            plain.stages.retain(|s| s.kind != StageKind::Pack);
            let oven_s = ends.last().map_or(plain.oven_time_s(), |i| rows[*i].time_s);
            let at = |time_s: f64| stretched(&plain, time_s.max(1.0), Cooling::AsGiven);
            let mut whole = at(oven_s);
            let last_s = pulled.last().map_or(0.0, |i| rows[*i].time_s);
            let in_oven = whole.oven_time_s();
            if last_s > in_oven
                && let Some(zone) = whole.stages.iter_mut().rfind(|s| s.kind == StageKind::Oven)
            {
                zone.duration_s += last_s - in_oven;
            }
            bakes.push(OwnBake {
                name,
                input: whole.clone(),
            });
            if !pulled.is_empty() {
                // Nothing is read after the oven here.
                whole.stages.retain(|s| s.kind == StageKind::Oven);
                let thickness_m = whole.thickness_m;
                let reading = |i: usize| Reading {
                    time_s: rows[i].time_s,
                    what: match rows[i].height_m {
                        Some(height) if rows[i].kind == Kind::Temperature => {
                            Quantity::Temperature {
                                height_share: (height / thickness_m).clamp(0.0, 1.0),
                            }
                        }
                        _ => Quantity::MeanMoisture,
                    },
                };
                runs.push(Run {
                    bake,
                    rows: pulled.iter().map(|i| (*i, reading(*i))).collect(),
                    input: whole,
                });
            }
            let mut times: Vec<f64> = ends.iter().map(|i| rows[*i].time_s).collect();
            times.dedup();
            for time_s in times {
                let cooled = at(time_s);
                let end_s: f64 = cooled.stages.iter().map(|s| s.duration_s).sum();
                let reading = Reading {
                    time_s: end_s,
                    what: Quantity::MeanMoisture,
                };
                let same = ends.iter().filter(|i| rows[**i].time_s == time_s);
                runs.push(Run {
                    bake,
                    rows: same.map(|i| (*i, reading)).collect(),
                    input: cooled,
                });
            }
        }
        Self {
            bakes,
            rows,
            chosen,
            of,
            runs,
        }
    }

    /// Numbers that are sought: what is learned, then heat and moisture of each bake.
    pub(crate) fn places(&self) -> usize {
        self.chosen.len() + 2 * self.bakes.len()
    }

    /// Standard deviation believed of each, about 0.
    pub(crate) fn believed(&self) -> Vec<f64> {
        let Some(first) = self.bakes.first() else {
            return Vec::new();
        };
        let chosen = self.chosen.iter().map(|c| c.sd(&first.input));
        let bakes = self
            .bakes
            .iter()
            .flat_map(|_| [BAKE_HEAT.value, BAKE_MOISTURE.value]);
        chosen.chain(bakes).collect()
    }

    /// What was observed, in the model's terms.
    pub(crate) fn observed(&self) -> Vec<f64> {
        let of = |r: &Row| match r.kind {
            Kind::Mass => r.value / r.before_g.unwrap_or(f64::NAN),
            Kind::Moisture | Kind::EndMoisture => r.value / 100.0,
            Kind::Temperature => measure::temperature::kelvin(r.value),
        };
        self.rows.iter().map(of).collect()
    }

    /// A value of the model in the terms of its row: g, per cent or °C.
    pub(crate) fn as_written(&self, row: usize, value: f64) -> f64 {
        let r = &self.rows[row];
        match r.kind {
            Kind::Mass => value * r.before_g.unwrap_or(f64::NAN),
            Kind::Moisture | Kind::EndMoisture => 100.0 * value,
            Kind::Temperature => measure::temperature::celsius(value),
        }
    }

    /// What the model says of every reading, in the terms of its row (g, per cent, °C), at places of what is learned and with
    /// bakes like one another; not a number where a bake can't be followed.
    pub fn predicted(&self, places: &[f64], w: &mut Workspace) -> Vec<f64> {
        let mut at = vec![0.0; self.places()];
        at[..places.len()].copy_from_slice(places);
        let told = self.told(&at, false, w);
        (0..self.rows.len())
            .map(|i| self.as_written(i, told.values[i]))
            .collect()
    }

    /// What the model says at some places; not a number where a bake can't be followed.
    pub(crate) fn told(&self, at: &[f64], slopes: bool, w: &mut Workspace) -> Told {
        let n = self.rows.len();
        let none = || vec![f64::NAN; n];
        let mut told = Told {
            values: none(),
            slopes: DMatrix::zeros(if slopes { n } else { 0 }, self.places()),
            per_s: none(),
            per_height: none(),
            per_moisture: none(),
        };
        for run in &self.runs {
            self.told_of(run, at, slopes, w, &mut told);
        }
        told
    }

    fn told_of(&self, run: &Run, at: &[f64], slopes: bool, w: &mut Workspace, told: &mut Told) {
        let mut input = run.input.clone();
        let mut by: Vec<Direction> = Vec::new();
        // Which direction each place goes along, and its slope.
        let mut along: Vec<(usize, usize, f64)> = Vec::new();
        let mut goes = |place: usize, direction: Direction, slope: f64| {
            if let Some(k) = by.iter().position(|d| *d == direction) {
                along.push((place, k, slope));
            } else {
                by.push(direction);
                along.push((place, by.len() - 1, slope));
            }
        };
        for (place, chosen) in self.chosen.iter().enumerate() {
            let (_, slope) = chosen.factor(&run.input, at[place]);
            goes(place, chosen.direction(), slope);
            chosen.apply(&mut input, at[place]);
        }
        let own = self.chosen.len() + 2 * run.bake;
        for (place, what) in [
            (own, Multiplier::TopHeat),
            (own + 1, Multiplier::InitialMoisture),
        ] {
            goes(place, Direction::of(what), 1.0);
            what.apply(&mut input, at[place].exp(), None);
        }
        if !slopes {
            by.clear();
        }
        let readings: Vec<Reading> = run.rows.iter().map(|(_, r)| *r).collect();
        let ask = Ask::without_kill();
        let Ok(answers) = bake_with_derivatives(&input, &ask, &readings, &by, w) else {
            return;
        };
        let start = input.initial_moisture.0;
        for ((row, _), answer) in run.rows.iter().zip(&answers.readings) {
            let x = answer.value;
            // The value, its slope by X, and by ln of the dough's moisture beside that.
            let (value, slope, by_dough) = match self.rows[*row].kind {
                Kind::Mass => {
                    let left = (1.0 + x) / (1.0 + start);
                    (left, 1.0 / (1.0 + start), -left * start / (1.0 + start))
                }
                Kind::Moisture | Kind::EndMoisture => (x / (1.0 + x), (1.0 + x).powi(-2), 0.0),
                Kind::Temperature => (x, 1.0, 0.0),
            };
            told.values[*row] = value;
            // A cooled end was taken out at its time; the rest of it is no matter of a moment.
            let timed = self.rows[*row].kind != Kind::EndMoisture;
            told.per_s[*row] = if timed { slope * answer.per_s } else { 0.0 };
            told.per_height[*row] = answer.per_height;
            told.per_moisture[*row] = slope;
            if slopes {
                for (place, k, own) in &along {
                    told.slopes[(*row, *place)] = slope * answer.by[*k] * own;
                }
                told.slopes[(*row, own_moisture(self, run))] += by_dough;
            }
        }
    }

    /// Covariance of what the readings scatter by, and what the model is off by: σ²I + ΦSΦᵀ. The error of the model is
    /// nought at the start, keeps its sign for some minutes, and is the same in every bake, for so it errs: more bakes don't
    /// make it go away.
    pub(crate) fn scatter(&self, told: &Told) -> DMatrix<f64> {
        let n = self.rows.len();
        let memory = MODEL_MEMORY.value;
        let mut out = DMatrix::zeros(n, n);
        for i in 0..n {
            let (a, of_a) = (&self.rows[i], self.of[i]);
            let thickness_m = self.bakes[of_a].input.thickness_m;
            let timing = TIMING.value * told.per_s[i];
            let place = PROBE_PLACE.value / thickness_m * told.per_height[i];
            out[(i, i)] = a.kind.noise().value.powi(2) + timing * timing + place * place;
        }
        for i in 0..n {
            for j in 0..=i {
                let (a, b) = (&self.rows[i], &self.rows[j]);
                let warm = |r: &Row| r.kind == Kind::Temperature;
                let alike = warm(a) == warm(b) && (!warm(a) || a.height_m == b.height_m);
                if !alike {
                    continue;
                }
                let (s, u) = (a.time_s / memory, b.time_s / memory);
                let kernel = (-0.5 * (s - u).powi(2)).exp() - (-0.5 * (s * s + u * u)).exp();
                let sd = |k: usize| {
                    if warm(&self.rows[k]) {
                        MODEL_TEMPERATURE.value
                    } else {
                        MODEL_MOISTURE.value * told.per_moisture[k]
                    }
                };
                let shared = sd(i) * sd(j) * kernel;
                out[(i, j)] += shared;
                if i != j {
                    out[(j, i)] += shared;
                }
            }
        }
        out
    }
}

fn own_moisture(bakes: &Bakes, run: &Run) -> usize {
    bakes.chosen.len() + 2 * run.bake + 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Parameter;
    use baking::bake::case::Benchmark;

    fn rows() -> Vec<Row> {
        crate::read(
            "bake,what,minutes,value,before_g,height_mm\n\
             a,mass_g,4,11.7,12.4,\na,moisture_pct,9,16.1,,\na,temperature_c,6,97,,3\na,end_moisture_pct,17,6.5,,\n\
             b,mass_g,8,11.1,12.4,\nb,moisture_pct,22,5.1,,\n",
        )
        .unwrap()
    }

    #[test]
    fn slopes_are_those_of_differences() {
        let mut input = Benchmark::SteelBand.case().input;
        input.cells = 12;
        input.accuracy = baking::bake::Accuracy::Tight;
        let chosen: Vec<Chosen> = Parameter::USUAL.map(Chosen::whole).to_vec();
        let bakes = Bakes::new(&input, rows(), chosen);
        assert_eq!(bakes.runs.len(), 3);
        let w = &mut Workspace::new();
        let at: Vec<f64> = (0..bakes.places())
            .map(|i| 0.05 * (i as f64 - 4.0))
            .collect();
        let told = bakes.told(&at, true, w);
        for place in 0..bakes.places() {
            let mut moved = |step: f64| {
                let mut at = at.clone();
                at[place] += step;
                bakes.told(&at, false, w).values
            };
            let (up, down) = (moved(2e-3), moved(-2e-3));
            for row in 0..bakes.rows.len() {
                let seen = (up[row] - down[row]) / 4e-3;
                let exact = told.slopes[(row, place)];
                let size = if bakes.rows[row].kind == Kind::Temperature {
                    100.0
                } else {
                    1.0
                };
                assert!(
                    (exact - seen).abs() < 1e-3 * size,
                    "{place} {row} {exact} {seen}"
                );
            }
        }
    }

    #[test]
    fn the_error_of_the_model_is_pinned_at_the_start_and_shared() {
        let input = Benchmark::SteelBand.case().input;
        let mut all = rows();
        all[0].time_s = 0.0;
        let bakes = Bakes::new(&input, all, Vec::new());
        let told = bakes.told(&[0.0; 4], false, &mut Workspace::new());
        let scatter = bakes.scatter(&told);
        let timing = (TIMING.value * told.per_s[0]).powi(2);
        assert!((scatter[(0, 0)] - Kind::Mass.noise().value.powi(2) - timing).abs() < 1e-12);
        // Moistures of two bakes share it; a temperature has its own.
        assert!(scatter[(1, 4)] > 0.0 && scatter[(1, 2)] == 0.0);
        assert!(scatter.cholesky().is_some());
    }
}
