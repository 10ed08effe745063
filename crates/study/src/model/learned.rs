//! What one's own bakes and doughs taught, as a study took it up.

use baking::bake::MODEL_VERSION;
use learning::Chosen;
use serde::Serialize;

/// What was learned and taken up.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Learned {
    /// Numbers of the bake.
    pub bake: Option<LearnedBake>,
    /// Water that the materials take.
    pub water: Option<LearnedWater>,
    /// Whether pieces leave the cutter whole.
    pub whole: Option<LearnedWhole>,
}

/// Numbers of the bake: effective ones, of one product in one oven.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LearnedBake {
    /// Name of the fit.
    pub fit: String,
    /// What it stands on.
    pub from: String,
    /// The treatment that was baked.
    pub treatment: String,
    /// When it was made.
    pub made: String,
    /// Version of the bake's arithmetic it was made with.
    pub model_version: u32,
    /// Places on the scale of each, and how sure.
    pub factors: Joint<Chosen>,
}

impl LearnedBake {
    /// Whether it holds: one made under another version of the arithmetic would be mixed with it silently.
    pub fn holds(&self) -> bool {
        self.model_version == MODEL_VERSION
    }
}

/// Water that the materials take, kg per kg at the reference consistency.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LearnedWater {
    /// What it stands on.
    pub from: String,
    /// Means by material, or of the forming.
    pub uptakes: Joint<String>,
}

/// The log-odds that a piece leaves the cutter whole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LearnedWhole {
    /// What it stands on.
    pub from: String,
    /// At the water the dough needs, and the change per tenth of the water off the need.
    pub mean: [f64; 2],
    /// Their covariance.
    pub covariance: [[f64; 2]; 2],
}

/// Several numbers that are known together: means, standard deviations and correlations.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Joint<Of> {
    /// What they are of.
    pub of: Vec<Of>,
    /// Means.
    pub mean: Vec<f64>,
    /// Standard deviations.
    pub sd: Vec<f64>,
    /// A lower triangle whose product with its transpose is the matrix of correlations, row by row.
    root: Vec<Vec<f64>>,
}

impl<Of> Joint<Of> {
    /// From means and correlations (pairs of places with their correlation); none when these can't all hold at once.
    ///
    /// ```
    /// use study::model::Joint;
    ///
    /// let two = |r| Joint::new(vec!["a", "b"], vec![1.0, 2.0], vec![0.1, 0.2], &[(0, 1, r)]);
    /// let together = two(-0.6).unwrap();
    /// // The second moves with the first, against it.
    /// assert_eq!(together.at(&[1.0, 0.0]), [1.1, 2.0 - 0.6 * 0.2]);
    /// assert!((together.covariance(0, 1) + 0.6 * 0.1 * 0.2).abs() < 1e-15);
    /// assert!(Joint::new(vec![0, 1, 2], vec![0.0; 3], vec![1.0; 3], &[(0, 1, 0.9), (1, 2, 0.9), (0, 2, -0.9)]).is_none());
    /// ```
    pub fn new(
        of: Vec<Of>,
        mean: Vec<f64>,
        sd: Vec<f64>,
        correlations: &[(usize, usize, f64)],
    ) -> Option<Self> {
        let n = of.len();
        let mut matrix = vec![vec![0.0; n]; n];
        for (i, row) in matrix.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        for &(i, j, r) in correlations {
            if i >= n || j >= n || i == j {
                return None;
            }
            (matrix[i][j], matrix[j][i]) = (r, r);
        }
        let mut root = vec![vec![0.0; n]; n];
        for i in 0..n {
            for j in 0..=i {
                let before: f64 = (0..j).map(|k| root[i][k] * root[j][k]).sum();
                let left = matrix[i][j] - before;
                root[i][j] = if i == j {
                    // Numbers written with few digits may miss by a little.
                    if left < -1e-6 {
                        return None;
                    }
                    left.max(0.0).sqrt()
                } else if root[j][j] > 1e-9 {
                    left / root[j][j]
                } else {
                    0.0
                };
            }
        }
        Some(Self { of, mean, sd, root })
    }

    /// The numbers at independent standard normal deviates, one for each.
    pub fn at(&self, z: &[f64]) -> Vec<f64> {
        let moved = |i: usize| -> f64 { self.root[i].iter().zip(z).map(|(r, z)| r * z).sum() };
        (0..self.of.len())
            .map(|i| self.mean[i] + self.sd[i] * moved(i))
            .collect()
    }

    /// Covariance of two.
    pub fn covariance(&self, i: usize, j: usize) -> f64 {
        let r: f64 = self.root[i]
            .iter()
            .zip(&self.root[j])
            .map(|(a, b)| a * b)
            .sum();
        self.sd[i] * self.sd[j] * r
    }
}
