//! The bake in time: adaptive linearly implicit steps, restarted at every stage.

use super::derivatives::Carried;
use super::error::{BakeError, InputError};
use super::input::{Accuracy, BakeInput, StageKind};
use super::kernel::{self, Material, State, Surroundings, Totals};

use super::result::{Ask, AskedTimes, BakeResult};
use super::run::Run;
use super::workspace::Workspace;
use crate::numerics::block_tridiagonal::Block;
use crate::numerics::lanes::{LANES, Lanes};
use crate::numerics::rosenbrock::{Method, RODAS3, RODAS4};
use crate::numerics::step_control::{Limits, StepControl};

use pulp::NullaryFnOnce;

/// First step of a stage \[s\].
///
/// - Source: a numerical choice
const FIRST_STEP_S: f64 = 0.2;
/// When the steps of a stage are given up.
const LIMITS: Limits = Limits {
    most_steps: 20_000,
    least_s: 1e-12,
};
/// Water or heat that a solved stage may lose, as a share of what the piece holds, before it is refined.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const LEFT_OVER: f64 = 1e-13;
/// A step that ends drier than this is refused.
///
/// - Units: \[kg/kg dry solid\]
/// - Source: a numerical limit, chosen here
const DRIEST: f64 = -1e-6;

/// Method and tolerance of an accuracy.
fn method(accuracy: Accuracy) -> (&'static Method, f64) {
    match accuracy {
        Accuracy::Quick => (&RODAS3, QUICK_TOLERANCE),
        Accuracy::Tight => (&RODAS4, TIGHT_TOLERANCE),
        Accuracy::Tolerance(t) => (&RODAS4, t),
    }
}

/// Relative tolerance of a step of the quick bake. What it leaves over 200 random doughs and ovens from end to end of what
/// transport may be, in the median, at 99 % and at most: of the mean moisture at any time 6e-5, 3e-4 and 1.2e-3 of that at
/// the start; of a surface's moisture at the end of a zone 7e-5, 3e-3 and 6e-3; of temperatures after the first 5 s 0.1, 1.2
/// and 1.9 K. A tolerance of 5e-3 takes 8 % fewer steps and leaves nearly three times that. Forty cells leave 9e-4, 6e-3 and
/// more of the exit's moisture.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, measured here as told
const QUICK_TOLERANCE: f64 = 3e-3;
/// Relative tolerance of a step of the tight bake.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const TIGHT_TOLERANCE: f64 = 2e-7;

/// Properties of the state, and with them the kill of the time since the last call.
struct Look<'a> {
    m: &'a Material,
    w: &'a mut Workspace,
    since_s: f64,
    credited: bool,
}

impl NullaryFnOnce for Look<'_> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        kernel::properties::<true>(self.m, &self.w.y, &mut self.w.fields);
        if self.credited {
            kernel::add_kill(self.m, &mut self.w.fields, self.since_s);
        }
    }
}

/// Right-hand side and Jacobian at the start of a step.
struct Prepare<'a> {
    m: &'a Material,
    s: &'a Surroundings,
    w: &'a mut Workspace,
}

impl NullaryFnOnce for Prepare<'_> {
    type Output = Totals;
    #[inline(always)]
    fn call(self) -> Totals {
        let w = self.w;
        kernel::rates_and_jacobian(
            self.m,
            self.s,
            &mut w.fields,
            &mut w.rates_at_start,
            &mut w.minus,
            &mut w.totals_slope,
        )
    }
}

/// One step: the new state in `next`, and the error in units of the tolerance.
struct Attempt<'a> {
    m: &'a Material,
    s: &'a Surroundings,
    w: &'a mut Workspace,
    method: &'static Method,
    tolerance: f64,
    h: f64,
    at_start: Totals,
    n: usize,
}

impl NullaryFnOnce for Attempt<'_> {
    type Output = (f64, Totals);
    #[inline(always)]
    fn call(self) -> (f64, Totals) {
        let (w, method, n, h) = (self.w, self.method, self.n, self.h);
        w.factors.eliminate(&w.minus, 1.0 / (h * method.gamma));
        let mut totals = self.at_start;
        let held = kernel::held(self.m, &w.y);
        for i in 0..method.stages {
            let (before, rest) = w.stages.split_at_mut(i);
            if i > 0 && method.new_function[i] {
                combine(&mut w.argument, &w.y, &method.a[i], before);
                pad(&mut w.argument, n);
                kernel::properties::<false>(self.m, &w.argument, &mut w.fields);
                totals = kernel::rates(self.m, self.s, &mut w.fields, &mut w.rates);
            } else if i == 0 {
                w.rates.copy_from_slice(&w.rates_at_start);
            }
            let past = method.c[i].map(|c| c / h);
            let mut rate = totals;
            for (c, total) in past.iter().zip(&w.stage_totals[..i]) {
                rate.water += c * total.water;
                rate.heat += c * total.heat;
            }
            // The argument and the next state aren't needed while a stage is solved.
            let (stage, rhs) = (&mut rest[0], &mut w.argument);
            combine(rhs, &w.rates, &past, before);
            stage.copy_from_slice(rhs);
            w.factors.solve(stage);
            let scale = h * method.gamma;
            let mut gained = gain(self.s, &rate, &w.totals_slope, stage, scale);
            let change = kernel::held(self.m, stage);
            if (change.water + gained.water).abs() > LEFT_OVER * held.water.abs()
                || (change.heat - gained.heat).abs() > LEFT_OVER * held.heat.abs()
            {
                let spare = &mut w.next;
                w.factors.refine(&w.minus, 1.0 / scale, rhs, stage, spare);
                gained = gain(self.s, &rate, &w.totals_slope, stage, scale);
            }
            w.stage_totals[i] = gained;
        }
        combine(&mut w.next, &w.y, &method.m, &w.stages[..method.stages]);
        pad(&mut w.next, n);
        let mut gained = Totals::default();
        for (m, total) in method.m.iter().zip(&w.stage_totals[..method.stages]) {
            gained.water += m * total.water;
            gained.heat += m * total.heat;
        }
        // The last stage of both methods is the embedded error.
        let error = &w.stages[method.stages - 1];
        let error = in_tolerances(&w.y[..n], &w.next[..n], &error[..n], self.tolerance);
        (error, gained)
    }
}

/// What a solved stage adds to the two running totals.
#[inline(always)]
fn gain(s: &Surroundings, rate: &Totals, slope: &[Block], stage: &State, scale: f64) -> Totals {
    let n = slope.len();
    let mut grow = *rate;
    let mut take = |k: usize| {
        let ([x, e], b) = (stage[k], slope[k]);
        grow.water += b[0] * x + b[1] * e;
        grow.heat += b[2] * x + b[3] * e;
    };
    if kernel::totals_at_surfaces(s) {
        take(0);
        take(n - 1);
    } else {
        (0..n).for_each(take);
    }
    Totals {
        water: scale * grow.water,
        heat: scale * grow.heat,
    }
}

/// The error of a step in units of the tolerance, root mean square over the nodes; infinite for a step that ends
/// too dry or nowhere.
#[inline(always)]
fn in_tolerances(
    before: &[[f64; 2]],
    after: &[[f64; 2]],
    error: &[[f64; 2]],
    tolerance: f64,
) -> f64 {
    // X and E by turns.
    const FLOOR: Lanes = [0.05, 0.5, 0.05, 0.5, 0.05, 0.5, 0.05, 0.5];
    let more = |a: f64, b: f64| if a > b { a } else { b };
    let less = |a: f64, b: f64| if a < b { a } else { b };
    let part = |y: f64, next: f64, error: f64, floor: f64| {
        let share = error / (more(y.abs(), next.abs()) + floor);
        share * share
    };
    let n = before.len();
    let [y, next, u] = [before, after, error].map(<[[f64; 2]]>::as_flattened);
    let whole = y.len() / LANES * LANES;
    let (mut sums, mut driest) = ([0.0; LANES], [f64::INFINITY; LANES]);
    for i in (0..whole).step_by(LANES) {
        let (y, next, u) = (&y[i..i + LANES], &next[i..i + LANES], &u[i..i + LANES]);
        for l in 0..LANES {
            sums[l] += part(y[l], next[l], u[l], FLOOR[l]);
            driest[l] = less(driest[l], next[l]);
        }
    }
    for i in whole..y.len() {
        sums[i - whole] += part(y[i], next[i], u[i], FLOOR[i - whole]);
        driest[i - whole] = less(driest[i - whole], next[i]);
    }
    // The outer nodes own half a cell.
    let ends = [0, 1, 2 * n - 2, 2 * n - 1].map(|i| part(y[i], next[i], u[i], FLOOR[i % 2]));
    let sum = sums.iter().sum::<f64>() - 0.5 * ends.iter().sum::<f64>();
    let error = (sum / (2.0 * (n - 1) as f64)).sqrt() / tolerance;
    let driest = less(less(driest[0], driest[2]), less(driest[4], driest[6]));
    if driest < DRIEST || !error.is_finite() {
        return f64::INFINITY;
    }
    error
}

/// out = base + Σ factorⱼ·uⱼ.
#[inline(always)]
fn combine(out: &mut State, base: &State, factors: &[f64], u: &[State]) {
    for i in (0..out.len()).step_by(LANES) {
        let mut sum = [[0.0; 2]; LANES];
        sum.copy_from_slice(&base[i..i + LANES]);
        for (factor, u) in factors.iter().zip(u) {
            let u = &u[i..i + LANES];
            for l in 0..LANES {
                sum[l][0] = factor.mul_add(u[l][0], sum[l][0]);
                sum[l][1] = factor.mul_add(u[l][1], sum[l][1]);
            }
        }
        out[i..i + LANES].copy_from_slice(&sum);
    }
}

/// Copies the last node into the padding.
#[inline(always)]
fn pad(y: &mut State, n: usize) {
    let last = y[n - 1];
    y[n..].fill(last);
}

/// Bakes with buffers of its own and no histories.
///
/// Check: the 8 mm reference piece leaves its three-zone oven at 8.01 % moisture and is 5.85 % cooled
/// (computed with an independent solver on the same 40 cells).
///
/// ```
/// use baking::bake::{StageKind, bake_simple, case::Benchmark};
/// let result = bake_simple(&Benchmark::SteelBand.case().input)?;
/// let percent = |kind| result.end_of(kind).map_or(f64::NAN, |e| e.mean_moisture.to_wet().percent());
/// assert!((percent(StageKind::Oven) - 8.01).abs() < 0.01);
/// assert!((percent(StageKind::Cooling) - 5.85).abs() < 0.01);
/// # Ok::<(), baking::bake::BakeError>(())
/// ```
///
/// # Errors
/// As [`bake`].
pub fn bake_simple(input: &BakeInput) -> Result<BakeResult, BakeError> {
    bake(input, &Ask::default(), &mut Workspace::new())
}

/// Bakes: follows moisture and temperature through every stage.
///
/// # Errors
/// An input outside what is allowed, or a bake that the step control can't follow.
pub fn bake(input: &BakeInput, ask: &Ask, w: &mut Workspace) -> Result<BakeResult, BakeError> {
    follow(input, ask, w, None)
}

/// The same, with derivatives carried along.
pub(super) fn follow(
    input: &BakeInput,
    ask: &Ask,
    w: &mut Workspace,
    mut carried: Option<&mut Carried<'_>>,
) -> Result<BakeResult, BakeError> {
    input.check()?;
    let total_s: f64 = input.stages.iter().map(|s| s.duration_s).sum();
    check_times(ask, total_s)?;
    let n = input.cells + 1;
    w.resize(n);
    let m = Material::new(input);
    let start_c = measure::temperature::celsius(input.initial_temperature_k);
    let x0 = input.initial_moisture.0;
    w.y.fill([x0, m.enthalpy(x0, start_c)]);
    let mut run = Run::new(input, ask, &m, w);
    let arch = w.arch;
    arch.dispatch(Look {
        m: &m,
        w,
        since_s: 0.0,
        credited: !ask.without_kill,
    });
    run.start(w);
    if let Some(carried) = &mut carried {
        carried.start(&m, w);
    }
    let (method, tolerance) = method(input.accuracy);
    let mut begin_s = 0.0;
    for (index, stage) in input.stages.iter().enumerate() {
        let s = Surroundings::new(input, stage);
        if let Some(carried) = &mut carried {
            carried.begin(&s, stage, index);
        }
        let credited = stage.kind != StageKind::Pack && !ask.without_kill;
        let order = method.control_order;
        let mut control = StepControl::new(stage.duration_s, FIRST_STEP_S, LIMITS, order);
        let mut at_start = Totals::default();
        while let Some(step) = control.next_step() {
            if step.fresh {
                at_start = arch.dispatch(Prepare { m: &m, s: &s, w });
                run.result.work.jacobians += 1;
                run.result.work.rhs += 1;
            }
            let h = step.length_s;
            let (error, gained) = arch.dispatch(Attempt {
                m: &m,
                s: &s,
                w,
                method,
                tolerance,
                h,
                at_start,
                n,
            });
            run.result.work.rhs += method.new_function.iter().filter(|f| **f).count() - 1;
            if !control.takes(error) {
                run.result.work.rejected += 1;
                continue;
            }
            let length = control.time_s() - step.from_s;
            run.record(w, method, begin_s + step.from_s, length);
            if let Some(carried) = &mut carried {
                carried.step(&m, w, method, begin_s + step.from_s, h);
            }
            std::mem::swap(&mut w.y, &mut w.next);
            arch.dispatch(Look {
                m: &m,
                w,
                since_s: h,
                credited,
            });
            run.arrive(w, h, gained);
        }
        if control.is_lost() {
            return Err(BakeError::lost(index, &stage.name, begin_s, &control));
        }
        begin_s += stage.duration_s;
        run.end_stage(w, &stage.name, stage.kind, begin_s);
        if let Some(carried) = &mut carried {
            carried.end(&m, w);
        }
        if let Some((deciding, wanted)) = ask.go_on_if
            && deciding == index
            && let Some(end) = run.result.stages.last()
            && !wanted.contains(end.mean_moisture.to_wet().0)
        {
            break;
        }
    }
    Ok(run.result)
}

fn check_times(ask: &Ask, total_s: f64) -> Result<(), InputError> {
    let empty = Vec::new();
    let times = match &ask.history {
        AskedTimes::At(times) => times,
        AskedTimes::None | AskedTimes::EveryStep => &empty,
    };
    for (field, times) in [
        ("output_times", times),
        ("profile_times_s", &ask.profile_times_s),
    ] {
        let mut before = 0.0;
        for &t in times {
            if !(t >= before && t <= total_s * (1.0 + 1e-9)) {
                let allowed = format!("rising from 0 to the end of the last stage at {total_s} s");
                return Err(InputError::new(field, t, allowed));
            }
            before = t;
        }
    }
    Ok(())
}

/// The state at the end of a bake in prescribed steps, each told by the place of its stage and its length \[s\].
#[cfg(test)]
pub(super) fn replayed(input: &BakeInput, steps: &[(usize, f64)]) -> State {
    let (mut w, n) = (Workspace::new(), input.cells + 1);
    w.resize(n);
    let w = &mut w;
    let m = Material::new(input);
    let start_c = measure::temperature::celsius(input.initial_temperature_k);
    let x0 = input.initial_moisture.0;
    w.y.fill([x0, m.enthalpy(x0, start_c)]);
    let (method, tolerance) = method(input.accuracy);
    for &(stage, h) in steps {
        let s = Surroundings::new(input, &input.stages[stage]);
        kernel::properties::<true>(&m, &w.y, &mut w.fields);
        let at_start = Prepare { m: &m, s: &s, w }.call();
        Attempt {
            m: &m,
            s: &s,
            w,
            method,
            tolerance,
            h,
            at_start,
            n,
        }
        .call();
        std::mem::swap(&mut w.y, &mut w.next);
    }
    w.y[..n].to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bake::case::Benchmark;
    use pulp::Arch;

    #[test]
    fn plain_and_vector_instructions_give_the_same_bits() {
        for benchmark in Benchmark::ALL {
            let mut input = benchmark.case().input;
            input.accuracy = Accuracy::Quick;
            input.edge = Some(crate::bake::Edge::of(139.2, 0.5));
            let mut plain = Workspace::new();
            plain.arch = Arch::Scalar;
            let plain = bake(&input, &Ask::default(), &mut plain).unwrap();
            assert_eq!(plain, bake_simple(&input).unwrap());
        }
    }
}
