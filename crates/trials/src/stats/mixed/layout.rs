//! The random columns: sparse by row, dense by connected block.

use super::RandomTerm;
use nalgebra::DMatrix;

/// Which part of a term.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Part {
    /// The term.
    pub term: usize,
    /// Its slope rather than its intercept.
    pub slope: bool,
}

/// A parameter of the covariance: the variance (a = b) or covariance of two columns of a term.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Parameter {
    pub term: usize,
    pub a: usize,
    pub b: usize,
}

/// A set of random columns that rows connect.
#[derive(Clone, Debug)]
pub(super) struct Block {
    /// Z'Z within the block.
    pub cross: DMatrix<f64>,
    /// For each term, the place in the block of each of its levels' first column.
    pub starts: Vec<Vec<usize>>,
}

/// How the random terms lie in the rows.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub n: usize,
    /// Columns per level of each term: 1, or 2 with a slope.
    pub parts: Vec<usize>,
    /// Per row and entry: the block, the place in it, the value. `width` entries per row.
    pub entries: Vec<(usize, usize, f64)>,
    pub width: usize,
    pub blocks: Vec<Block>,
    /// Random parameters; the residual follows them.
    pub parameters: Vec<Parameter>,
}

impl Layout {
    pub(super) fn new(n: usize, terms: &[RandomTerm]) -> Self {
        let parts: Vec<usize> = terms
            .iter()
            .map(|t| if t.slope.is_some() { 2 } else { 1 })
            .collect();
        let counts: Vec<usize> = terms
            .iter()
            .map(|t| t.codes.iter().max().map_or(0, |m| m + 1))
            .collect();
        let mut offsets = vec![0];
        for count in &counts {
            offsets.push(offsets[offsets.len() - 1] + count);
        }
        let nodes = offsets[terms.len()];
        let mut parent: Vec<usize> = (0..nodes).collect();
        fn root(parent: &mut [usize], mut i: usize) -> usize {
            while parent[i] != i {
                parent[i] = parent[parent[i]];
                i = parent[i];
            }
            i
        }
        for row in 0..n {
            for t in 1..terms.len() {
                let a = root(&mut parent, offsets[0] + terms[0].codes[row]);
                let b = root(&mut parent, offsets[t] + terms[t].codes[row]);
                parent[b] = a;
            }
        }
        let mut block_of_root = vec![usize::MAX; nodes];
        let mut sizes: Vec<usize> = Vec::new();
        let mut starts: Vec<Vec<Vec<usize>>> = Vec::new();
        // (block, start) of every level node.
        let mut places = vec![(0, 0); nodes];
        for t in 0..terms.len() {
            for level in 0..counts[t] {
                let node = offsets[t] + level;
                let r = root(&mut parent, node);
                if block_of_root[r] == usize::MAX {
                    block_of_root[r] = sizes.len();
                    sizes.push(0);
                    starts.push(vec![Vec::new(); terms.len()]);
                }
                let block = block_of_root[r];
                places[node] = (block, sizes[block]);
                starts[block][t].push(sizes[block]);
                sizes[block] += parts[t];
            }
        }
        let width: usize = parts.iter().sum();
        let mut entries = Vec::with_capacity(n * width);
        for row in 0..n {
            for (t, term) in terms.iter().enumerate() {
                let (block, start) = places[offsets[t] + term.codes[row]];
                entries.push((block, start, 1.0));
                if let Some(slope) = &term.slope {
                    entries.push((block, start + 1, slope[row]));
                }
            }
        }
        let mut blocks: Vec<Block> = sizes
            .iter()
            .zip(starts)
            .map(|(&size, starts)| Block {
                cross: DMatrix::zeros(size, size),
                starts,
            })
            .collect();
        if width > 0 {
            for row in entries.chunks_exact(width) {
                for &(block, i, a) in row {
                    for &(_, j, b) in row {
                        blocks[block].cross[(i, j)] += a * b;
                    }
                }
            }
        }
        let parameters = parts
            .iter()
            .enumerate()
            .flat_map(|(term, &size)| {
                (0..size).flat_map(move |a| (a..size).map(move |b| Parameter { term, a, b }))
            })
            .collect();
        Self {
            n,
            parts,
            entries,
            width,
            blocks,
            parameters,
        }
    }

    /// Z'w, block by block.
    pub(super) fn gather(&self, w: &[f64]) -> Vec<Vec<f64>> {
        let mut out: Vec<Vec<f64>> = self
            .blocks
            .iter()
            .map(|b| vec![0.0; b.cross.nrows()])
            .collect();
        if self.width > 0 {
            for (row, &value) in self.entries.chunks_exact(self.width).zip(w) {
                for &(block, i, z) in row {
                    out[block][i] += z * value;
                }
            }
        }
        out
    }

    /// Z t, from values block by block.
    pub(super) fn scatter(&self, t: &[Vec<f64>]) -> Vec<f64> {
        if self.width == 0 {
            return vec![0.0; self.n];
        }
        self.entries
            .chunks_exact(self.width)
            .map(|row| row.iter().map(|&(block, i, z)| z * t[block][i]).sum())
            .collect()
    }

    /// The middle of `G w` for a random parameter, from Z'w: what `scatter` turns into `G w`.
    pub(super) fn middle(&self, parameter: Parameter, gathered: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let mut out: Vec<Vec<f64>> = gathered.iter().map(|v| vec![0.0; v.len()]).collect();
        for (at, block) in self.blocks.iter().enumerate() {
            for &s in &block.starts[parameter.term] {
                out[at][s + parameter.a] += gathered[at][s + parameter.b];
                if parameter.a != parameter.b {
                    out[at][s + parameter.b] += gathered[at][s + parameter.a];
                }
            }
        }
        out
    }
}
