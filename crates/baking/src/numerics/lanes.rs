//! Rows of numbers, taken several side by side, so that a loop over nodes vectorises.

/// Numbers treated side by side: one register of the widest instructions, two of the usual ones.
pub(crate) const LANES: usize = 8;

/// As many numbers as are treated side by side.
pub(crate) type Lanes = [f64; LANES];

/// Places that `n` numbers take with their padding: whole lanes may be read or written from any of them on.
pub(crate) fn padded(n: usize) -> usize {
    n.next_multiple_of(LANES) + LANES
}

/// One number per node, with padding.
#[derive(Clone, Debug, Default)]
pub(crate) struct Field(pub Vec<f64>);

impl Field {
    /// Makes room for `n` numbers, all nought.
    pub(crate) fn resize(&mut self, n: usize) {
        self.0.clear();
        self.0.resize(padded(n), 0.0);
    }

    /// The numbers from `i` on.
    #[inline(always)]
    pub(crate) fn load(&self, i: usize) -> Lanes {
        self.some(i)
    }

    /// `W` numbers from `i` on.
    #[inline(always)]
    pub(crate) fn some<const W: usize>(&self, i: usize) -> [f64; W] {
        let mut out = [0.0; W];
        out.copy_from_slice(&self.0[i..i + W]);
        out
    }

    /// Puts numbers from `i` on.
    #[inline(always)]
    pub(crate) fn store<const W: usize>(&mut self, i: usize, v: [f64; W]) {
        self.0[i..i + W].copy_from_slice(&v);
    }
}
