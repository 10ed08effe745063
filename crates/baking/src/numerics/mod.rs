//! The numerical methods the bake stands on: no food, no oven.

pub mod block_tridiagonal;
pub mod blocks;
pub mod elementary;
pub mod lanes;
pub mod number;
pub mod rosenbrock;
pub mod step_control;
