//! The numerical methods the bake stands on: no food, no oven.

pub(crate) mod block_tridiagonal;
pub(crate) mod blocks;
pub(crate) mod elementary;
pub(crate) mod lanes;
pub(crate) mod number;
pub(crate) mod rosenbrock;
pub(crate) mod step_control;
