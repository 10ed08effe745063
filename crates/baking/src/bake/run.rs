//! What is kept while a bake runs: histories, peaks, colour, kill and the two accounts.

use super::colour;
use super::input::{BakeInput, StageKind};
use super::isotherm::ROOM_CELSIUS;
use super::kernel::{E_UNIT, Material, State, Totals};
use super::kill::{Kill, TOLD_AT_MOST};
use super::result::{Account, Ask, AskedTimes, BakeResult, Place, Profile, StageEnd, Work};
use super::workspace::Workspace;
use crate::numerics::rosenbrock::{MOST_STAGES, Method};
use measure::DryBasis;
use measure::temperature::kelvin;

type Weights = [f64; MOST_STAGES];

pub(super) struct Run<'a> {
    input: &'a BakeInput,
    ask: &'a Ask,
    m: &'a Material,
    pub(super) result: BakeResult,
    n: usize,
    next_time: usize,
    next_profile: usize,
    water_out: f64,
    heat_in: f64,
    water_at_start: f64,
    enthalpy_at_start: f64,
    turned_over: f64,
    ln_browning_rate: f64,
    browning: f64,
    kill: f64,
    /// Fractions of the step of the history rows that wait for colour and kill at its end.
    waiting: Vec<f64>,
}

/// Water \[kg/m²\] and enthalpy \[J/m²\] in the nodes.
fn held(m: &Material, y: &State, input: &BakeInput) -> (f64, f64) {
    let (mut water, mut enthalpy) = (0.0, 0.0);
    for (i, [x, e]) in y.iter().take(input.cells + 1).enumerate() {
        let solid = input.dry_solid_kg_per_m3 * m.share(i);
        water += solid * x;
        enthalpy += solid * e * E_UNIT;
    }
    (water, enthalpy)
}

impl<'a> Run<'a> {
    pub(super) fn new(input: &'a BakeInput, ask: &'a Ask, m: &'a Material, w: &Workspace) -> Self {
        let (water, enthalpy) = held(m, &w.y, input);
        Self {
            input,
            ask,
            m,
            result: BakeResult {
                stages: Vec::with_capacity(input.stages.len()),
                history: Default::default(),
                profiles: Vec::with_capacity(ask.profile_times_s.len()),
                centre_peak_k: 0.0,
                top_peak_k: 0.0,
                work: Work::default(),
                account: Account::default(),
            },
            n: input.cells + 1,
            next_time: 0,
            next_profile: 0,
            water_out: 0.0,
            heat_in: 0.0,
            water_at_start: water,
            enthalpy_at_start: enthalpy,
            turned_over: enthalpy.abs(),
            ln_browning_rate: 0.0,
            browning: 0.0,
            kill: 0.0,
            waiting: Vec::new(),
        }
    }

    /// Keeps what was asked for at time 0.
    pub(super) fn start(&mut self, w: &Workspace) {
        self.ln_browning_rate = colour::ln_rate(kelvin(w.fields.celsius(self.n - 1)));
        self.peaks(w);
        let rows = match &self.ask.history {
            AskedTimes::None => 0,
            AskedTimes::EveryStep => 1,
            AskedTimes::At(times) => times.iter().take_while(|t| **t == 0.0).count(),
        };
        self.next_time = rows;
        for _ in 0..rows {
            self.push(w, &[0.0; MOST_STAGES], 0.0, 0.0);
        }
        while self.ask.profile_times_s.get(self.next_profile) == Some(&0.0) {
            self.push_profile(w, &[0.0; MOST_STAGES], 0.0);
        }
        self.tell_waiting(0.0, 0.0);
    }

    /// Keeps what was asked for inside an accepted step of `h` seconds from `t`, while the workspace still
    /// holds the state at its start and its stages.
    pub(super) fn record(&mut self, w: &Workspace, method: &Method, t: f64, h: f64) {
        let end = t + h;
        let slack = 1e-9 * end;
        let ask = self.ask;
        match &ask.history {
            AskedTimes::None => {}
            AskedTimes::EveryStep => self.push(w, &method.dense_weights(1.0), end, 1.0),
            AskedTimes::At(times) => {
                while let Some(&asked) = times.get(self.next_time)
                    && asked <= end + slack
                {
                    let s = ((asked - t) / h).clamp(0.0, 1.0);
                    self.push(w, &method.dense_weights(s), asked, s);
                    self.next_time += 1;
                }
            }
        }
        while let Some(&asked) = ask.profile_times_s.get(self.next_profile)
            && asked <= end + slack
        {
            let s = ((asked - t) / h).clamp(0.0, 1.0);
            self.push_profile(w, &method.dense_weights(s), asked);
        }
    }

    /// Takes in an accepted step; the workspace holds the state and properties at its end.
    pub(super) fn arrive(&mut self, w: &Workspace, h: f64, gained: Totals) {
        self.water_out += gained.water;
        self.heat_in += gained.heat;
        self.turned_over = self.turned_over.max(self.heat_in.abs());
        self.result.work.steps += 1;
        self.peaks(w);
        let ln_rate = colour::ln_rate(kelvin(w.fields.celsius(self.n - 1)));
        let browned = super::kill::decades(self.ln_browning_rate, ln_rate, h);
        self.ln_browning_rate = ln_rate;
        let (kill, _) = w.fields.least_kill(self.n);
        let (colour_before, kill_before) = (colour::delta_e(self.browning), self.kill);
        self.browning += browned;
        self.kill = kill;
        self.tell_waiting(colour_before, kill_before);
    }

    /// Fills colour and kill of the rows inside the last step, as if both went evenly.
    fn tell_waiting(&mut self, colour_before: f64, kill_before: f64) {
        let colour = colour::delta_e(self.browning);
        let history = &mut self.result.history;
        for s in self.waiting.drain(..) {
            let between = |a: f64, b: f64| a + s * (b - a);
            history.colour_delta_e.push(between(colour_before, colour));
            history.kill_log10.push(between(kill_before, self.kill));
        }
    }

    fn peaks(&mut self, w: &Workspace) {
        let (top, centre) = (w.fields.celsius(self.n - 1), w.fields.celsius(self.n / 2));
        let r = &mut self.result;
        r.top_peak_k = r.top_peak_k.max(kelvin(top));
        r.centre_peak_k = r.centre_peak_k.max(kelvin(centre));
    }

    /// A node inside the step. Between two steps a nearly dry one may be read a hair below nothing.
    fn node(&self, w: &Workspace, weights: &Weights, i: usize) -> [f64; 2] {
        let mut y = w.y[i];
        for (weight, stage) in weights.iter().zip(&w.stages) {
            if *weight != 0.0 {
                y = [y[0] + weight * stage[i][0], y[1] + weight * stage[i][1]];
            }
        }
        y[0] = y[0].max(0.0);
        y
    }

    fn push(&mut self, w: &Workspace, weights: &Weights, time_s: f64, s: f64) {
        let gained = |of: fn(&Totals) -> f64| -> f64 {
            let pairs = weights.iter().zip(&w.stage_totals);
            pairs
                .filter(|(a, _)| **a != 0.0)
                .map(|(a, t)| a * of(t))
                .sum()
        };
        let water_out = self.water_out + gained(|t| t.water);
        let heat_in = self.heat_in + gained(|t| t.heat);
        let dry = self.input.dry_solid_kg_per_m3 * self.input.thickness_m;
        let [bottom, centre, top] = [0, self.n / 2, self.n - 1].map(|i| self.node(w, weights, i));
        let m = self.m;
        let h = &mut self.result.history;
        h.time_s.push(time_s);
        h.mean_moisture
            .push(((self.water_at_start - water_out) / dry).max(0.0));
        h.top_k.push(kelvin(m.celsius(top)));
        h.centre_k.push(kelvin(m.celsius(centre)));
        h.bottom_k.push(kelvin(m.celsius(bottom)));
        h.top_moisture.push(top[0]);
        h.centre_moisture.push(centre[0]);
        h.bottom_moisture.push(bottom[0]);
        h.water_out_kg_per_m2.push(water_out);
        h.enthalpy_in_j_per_m2.push(heat_in);
        self.waiting.push(s);
    }

    fn push_profile(&mut self, w: &Workspace, weights: &Weights, time_s: f64) {
        let nodes: Vec<[f64; 2]> = (0..self.n).map(|i| self.node(w, weights, i)).collect();
        self.result.profiles.push(Profile {
            time_s,
            moisture: nodes.iter().map(|y| y[0]).collect(),
            temperature_k: nodes.iter().map(|y| kelvin(self.m.celsius(*y))).collect(),
        });
        self.next_profile += 1;
    }

    /// Keeps the state at the end of a stage and closes the accounts.
    pub(super) fn end_stage(&mut self, w: &Workspace, name: &str, kind: StageKind, time_s: f64) {
        let (water, enthalpy) = held(self.m, &w.y, self.input);
        let isotherm = &self.input.closures.isotherm;
        let place = |i: usize| {
            let celsius = self.m.celsius(w.y[i]);
            Place {
                moisture: DryBasis(w.y[i][0]),
                temperature_k: kelvin(celsius),
                water_activity: isotherm.water_activity(w.y[i][0], celsius),
            }
        };
        let dry = self.input.dry_solid_kg_per_m3 * self.input.thickness_m;
        let (log10, outside) = w.fields.least_kill(self.n);
        let end = StageEnd {
            name: name.to_owned(),
            kind,
            time_s,
            mean_moisture: DryBasis(water / dry),
            evened_water_activity: isotherm.water_activity(water / dry, ROOM_CELSIUS),
            top: place(self.n - 1),
            centre: place(self.n / 2),
            bottom: place(0),
            water_out_kg_per_m2: self.water_out,
            enthalpy_in_j_per_m2: self.heat_in,
            colour_delta_e: colour::delta_e(self.browning),
            kill: Kill {
                log10,
                extrapolated_log10: w.fields.least_kill_carried_on(self.n),
                wet_phase_log10: w.fields.least_kill_with_wet_phase(self.n),
                beyond_tested_range: outside > 0.01 * log10 || log10 > TOLD_AT_MOST,
            },
        };
        let gap = |now: f64, before: f64, gained: f64, scale: f64| {
            let gap = (now - before - gained).abs();
            if gap == 0.0 {
                0.0
            } else {
                gap / scale.max(f64::MIN_POSITIVE)
            }
        };
        let account = &mut self.result.account;
        let water_gap = gap(
            water,
            self.water_at_start,
            -self.water_out,
            self.water_at_start,
        );
        let scale = self.turned_over.max(enthalpy.abs());
        let energy_gap = gap(enthalpy, self.enthalpy_at_start, self.heat_in, scale);
        account.water_rel_error = account.water_rel_error.max(water_gap);
        account.energy_rel_error = account.energy_rel_error.max(energy_gap);
        self.result.stages.push(end);
    }
}
