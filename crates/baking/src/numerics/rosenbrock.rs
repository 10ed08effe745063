//! Two linearly implicit one-step methods for stiff equations: no Newton iterations, one matrix a step.
//!
//! For y' = f(y) with Jacobian J a step of size h solves, for each stage i,
//! (1/(hγ) − J) uᵢ = f(y + Σ aᵢⱼ uⱼ) + Σ (cᵢⱼ/h) uⱼ, then y₁ = y + Σ mᵢ uᵢ.

/// Most stages any method here has.
pub(crate) const MOST_STAGES: usize = 6;

type Row = [f64; MOST_STAGES];

/// A Rosenbrock method in the form that needs no product with the Jacobian.
#[derive(Debug)]
pub(crate) struct Method {
    /// Number of stages.
    pub stages: usize,
    /// The diagonal coefficient γ \[1\].
    pub gamma: f64,
    /// Coefficients aᵢⱼ of the stage's argument.
    pub a: [Row; MOST_STAGES],
    /// Coefficients cᵢⱼ of the stage's right-hand side.
    pub c: [Row; MOST_STAGES],
    /// Weights mᵢ of the new value.
    pub m: Row,
    /// Whether the stage needs a new right-hand side (else it uses the stage before).
    pub new_function: [bool; MOST_STAGES],
    /// Order used by the step control: that of the embedded method plus one.
    pub control_order: f64,
    /// Continuous weights: uᵢ counts d₀ᵢ·s + d₁ᵢ·s² + d₂ᵢ·s³ at the fraction s of the step.
    pub dense: [Row; 3],
}

impl Method {
    /// Weights of the stages at the fraction `s` of a step, 0 ≤ s ≤ 1.
    pub(crate) fn dense_weights(&self, s: f64) -> Row {
        let mut weights = [0.0; MOST_STAGES];
        for (i, weight) in weights.iter_mut().enumerate() {
            *weight = s * (self.dense[0][i] + s * (self.dense[1][i] + s * self.dense[2][i]));
        }
        weights
    }

    /// How these weights grow with `s`.
    pub(crate) fn dense_slopes(&self, s: f64) -> Row {
        let [d0, d1, d2] = &self.dense;
        std::array::from_fn(|i| d0[i] + s * (2.0 * d1[i] + 3.0 * s * d2[i]))
    }
}

const O: Row = [0.0; MOST_STAGES];

/// Rodas3: four stages, three right-hand sides, order 3, L-stable, stiffly accurate; the error
/// estimate is the last stage. Coefficients after Sandu and others (1997), from memory; the tests
/// below prove the order. The continuous weights (order 2) were derived from the order conditions.
pub(crate) static RODAS3: Method = Method {
    stages: 4,
    gamma: 0.5,
    a: [
        O,
        O,
        [2.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [2.0, 0.0, 1.0, 0.0, 0.0, 0.0],
        O,
        O,
    ],
    c: [
        O,
        [4.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [1.0, -1.0, 0.0, 0.0, 0.0, 0.0],
        [1.0, -1.0, -8.0 / 3.0, 0.0, 0.0, 0.0],
        O,
        O,
    ],
    m: [2.0, 0.0, 1.0, 1.0, 0.0, 0.0],
    new_function: [true, false, true, true, false, false],
    control_order: 3.0,
    dense: [
        [5.0, -1.0, 0.0, 0.0, 0.0, 0.0],
        [-3.0, 1.0, 0.0, 0.0, 0.0, 0.0],
        [0.0, 0.0, 1.0, 1.0, 0.0, 0.0],
    ],
};

const R4_LAST: Row = [
    1.221_224_509_226_641,
    6.019_134_481_288_629,
    12.537_083_329_320_87,
    -0.687_886_036_105_895,
    0.0,
    0.0,
];
const R4_D2: Row = [
    10.126_235_083_445_86,
    -7.487_995_877_610_167,
    -34.800_918_615_557_47,
    -7.992_771_707_568_823,
    1.025_137_723_295_662,
    0.0,
];
const R4_D3: Row = [
    -0.676_280_339_280_125_3,
    6.087_714_651_680_015,
    16.430_843_208_924_78,
    24.767_225_114_183_86,
    -6.594_389_125_716_872,
    0.0,
];
const R4_M: Row = [R4_LAST[0], R4_LAST[1], R4_LAST[2], R4_LAST[3], 1.0, 1.0];

const fn sum(a: Row, b: Row, sign_a: f64, sign_b: f64) -> Row {
    let mut out = O;
    let mut i = 0;
    while i < MOST_STAGES {
        out[i] = sign_a * a[i] + sign_b * b[i];
        i += 1;
    }
    out
}

/// RODAS: six stages, order 4, L-stable, stiffly accurate, continuous of order 3. Coefficients of
/// Hairer and Wanner, *Solving Ordinary Differential Equations II*, from memory; the tests below
/// prove the orders.
pub(crate) static RODAS4: Method = Method {
    stages: 6,
    gamma: 0.25,
    a: [
        O,
        [1.544, 0.0, 0.0, 0.0, 0.0, 0.0],
        [
            0.946_678_528_081_582_6,
            0.255_701_169_898_328_4,
            0.0,
            0.0,
            0.0,
            0.0,
        ],
        [
            3.314_825_187_068_521,
            2.896_124_015_972_201,
            0.998_641_913_997_781_7,
            0.0,
            0.0,
            0.0,
        ],
        R4_LAST,
        [R4_LAST[0], R4_LAST[1], R4_LAST[2], R4_LAST[3], 1.0, 0.0],
    ],
    c: [
        O,
        [-5.668_8, 0.0, 0.0, 0.0, 0.0, 0.0],
        [
            -2.430_093_356_833_875,
            -0.206_359_915_709_191_5,
            0.0,
            0.0,
            0.0,
            0.0,
        ],
        [
            -0.107_352_905_815_137_5,
            -9.594_562_251_023_355,
            -20.470_286_148_096_16,
            0.0,
            0.0,
            0.0,
        ],
        [
            7.496_443_313_967_647,
            -10.246_804_314_643_52,
            -33.999_903_528_199_05,
            11.708_908_932_061_6,
            0.0,
            0.0,
        ],
        [
            8.083_246_795_921_522,
            -7.981_132_988_064_893,
            -31.521_594_328_743_71,
            16.319_305_431_231_36,
            -6.058_818_238_834_054,
            0.0,
        ],
    ],
    m: R4_M,
    new_function: [true; MOST_STAGES],
    control_order: 4.0,
    dense: [
        sum(R4_M, R4_D2, 1.0, 1.0),
        sum(R4_D2, R4_D3, -1.0, 1.0),
        sum(R4_D3, O, -1.0, 0.0),
    ],
};

#[cfg(test)]
mod tests {
    use super::*;

    /// y' = −y² − y, y(0) = 1: a nonlinear scalar with the solution 1/(2eᵗ − 1).
    fn run(method: &Method, steps: u32, fraction: f64) -> f64 {
        let h = 1.0 / f64::from(steps);
        let (mut y, mut dense_error) = (1.0_f64, 0.0_f64);
        let exact = |t: f64| 1.0 / (2.0 * t.exp() - 1.0);
        for step in 0..steps {
            let slope = -2.0 * y - 1.0;
            let mut u = [0.0; MOST_STAGES];
            let mut f = 0.0;
            for i in 0..method.stages {
                if method.new_function[i] {
                    let at = y + (0..i).map(|j| method.a[i][j] * u[j]).sum::<f64>();
                    f = -at * at - at;
                }
                let past: f64 = (0..i).map(|j| method.c[i][j] * u[j]).sum::<f64>() / h;
                u[i] = (f + past) / (1.0 / (h * method.gamma) - slope);
            }
            let weights = method.dense_weights(fraction);
            let inside = y + (0..method.stages).map(|i| weights[i] * u[i]).sum::<f64>();
            let t = h * (f64::from(step) + fraction);
            dense_error = dense_error.max((inside - exact(t)).abs());
            y += (0..method.stages).map(|i| method.m[i] * u[i]).sum::<f64>();
        }
        if fraction == 1.0 {
            (y - exact(1.0)).abs()
        } else {
            dense_error
        }
    }

    #[test]
    fn orders_are_as_stated() {
        for (method, order, dense_order) in [(&RODAS3, 3.0, 2.0), (&RODAS4, 4.0, 3.0)] {
            let seen = (run(method, 20, 1.0) / run(method, 40, 1.0)).log2();
            assert!((seen - order).abs() < 0.25, "{order} {seen}");
            // Locally a method of order p errs like h^(p+1); inside one step that is what is left.
            let seen = (run(method, 20, 0.4) / run(method, 40, 0.4)).log2();
            assert!(seen > dense_order - 0.1, "{order} dense {seen}");
        }
    }

    #[test]
    fn the_continuous_weights_end_on_the_step() {
        for method in [&RODAS3, &RODAS4] {
            let end = method.dense_weights(1.0);
            for (found, wanted) in end.iter().zip(method.m) {
                assert!((found - wanted).abs() < 1e-12, "{found} {wanted}");
            }
        }
    }
}
