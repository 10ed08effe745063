//! What a bake computes in.

use super::kernel::{Fields, State, Totals};
use crate::numerics::block_tridiagonal::{Block, Factors, Matrix};
use crate::numerics::lanes::padded;
use crate::numerics::rosenbrock::MOST_STAGES;
use pulp::Arch;

/// Buffers of a bake, to be reused for the next one: a bake then hardly allocates.
#[derive(Debug)]
pub struct Workspace {
    pub(super) arch: Arch,
    pub(super) fields: Fields,
    pub(super) y: State,
    pub(super) next: State,
    pub(super) argument: State,
    pub(super) rates_at_start: State,
    pub(super) rates: State,
    pub(super) stages: [State; MOST_STAGES],
    pub(super) stage_totals: [Totals; MOST_STAGES],
    pub(super) minus: Matrix,
    pub(super) factors: Factors,
    pub(super) totals_slope: Vec<Block>,
}

impl Default for Workspace {
    fn default() -> Self {
        Self::new()
    }
}

impl Workspace {
    /// Empty buffers; they take their size from the bake.
    pub fn new() -> Self {
        Self {
            arch: Arch::new(),
            fields: Fields::default(),
            y: State::new(),
            next: State::new(),
            argument: State::new(),
            rates_at_start: State::new(),
            rates: State::new(),
            stages: Default::default(),
            stage_totals: Default::default(),
            minus: Matrix::default(),
            factors: Factors::default(),
            totals_slope: Vec::new(),
        }
    }

    /// Takes the size of a bake.
    pub(super) fn resize(&mut self, n: usize) {
        self.fields.resize(n);
        let states = [
            &mut self.y,
            &mut self.next,
            &mut self.argument,
            &mut self.rates_at_start,
            &mut self.rates,
        ];
        for state in states.into_iter().chain(&mut self.stages) {
            state.clear();
            state.resize(padded(n), [0.0; 2]);
        }
        self.minus.resize(n);
        self.factors.resize(n);
        self.totals_slope.clear();
        self.totals_slope.resize(n, [0.0; 4]);
    }
}
