//! The region of mixtures within bounds: corners, edges, faces, centre.

use super::{Component, PlanError};
use crate::Code;
use measure::{Finding, Severity};

/// Two points closer than this are one.
///
/// - Units: shares \[1\]
/// - Source: a numerical tolerance, chosen here
const SAME: f64 = 1e-9;
/// Most parts: the corners of the region are counted by trying all ends of all but one part.
const MOST_PARTS: usize = 10;

/// Checks that some mixture meets the bounds, and tells which bounds can never be reached.
///
/// A part's real upper end is at most 1 − the sum of the other lower ends; its real lower end is
/// at least 1 − the sum of the other upper ends.
///
/// # Errors
/// A bound that is no range within 0 to 1, or sums that leave no mixture.
pub fn check_bounds(components: &[Component]) -> Result<Vec<Finding>, PlanError> {
    super::error::distinct("part", components.iter().map(|c| &c.name))?;
    super::error::within("parts", components.len(), 2, MOST_PARTS, "")?;
    for c in components {
        if !(c.low >= 0.0 && c.low <= c.high && c.high <= 1.0) {
            return Err(PlanError::Range {
                name: c.name.clone(),
                low: c.low,
                high: c.high,
                allowed: ", both as fractions from 0 to 1",
            });
        }
    }
    let (low, high): (f64, f64) = (
        components.iter().map(|c| c.low).sum(),
        components.iter().map(|c| c.high).sum(),
    );
    if low > 1.0 + SAME {
        return Err(PlanError::NoMixture {
            reason: format!(
                "the lower ends add up to {low:.4}, above 1; lower them by {:.4} in all",
                low - 1.0
            ),
        });
    }
    if high < 1.0 - SAME {
        return Err(PlanError::NoMixture {
            reason: format!(
                "the upper ends add up to {high:.4}, below 1; raise them by {:.4} in all",
                1.0 - high
            ),
        });
    }
    let mut findings = Vec::new();
    for c in components {
        let top = 1.0 - (low - c.low);
        let bottom = 1.0 - (high - c.high);
        let mut tell = |end: &str, given: f64, real: f64| {
            findings.push(
                Finding::new(
                    Severity::Note,
                    Code::BoundNeverReached,
                    format!("part:{}", c.name),
                    format!("{} can never reach its {end} bound of {given}; the others let it go to {real:.4}.", c.name),
                )
                .help("Nothing to do, unless another bound was mistyped."),
            );
        };
        if top < c.high - SAME {
            tell("upper", c.high, top);
        }
        if bottom > c.low + SAME {
            tell("lower", c.low, bottom);
        }
    }
    Ok(findings)
}

/// The corners of the region: each part in turn takes what is left while the others stand at all
/// choices of their ends (Snee and Marquardt's XVERT in its plain form), in ascending order.
///
/// - Rule: all choices of ends for all parts but one, which takes the rest, where it may
/// - Units: parts \[shares\]
/// - Valid: bounds that leave a mixture
/// - Source: Snee and Marquardt 1974 (from memory, to be confirmed); a triangle without bounds has three
///
/// ```
/// use trials::plan::{Component, vertices::corners};
/// let free = ["a", "b", "c"].map(|n| Component { name: n.into(), low: 0.0, high: 1.0 });
/// assert_eq!(corners(&free).unwrap().len(), 3);
/// ```
///
/// # Errors
/// As [`check_bounds`].
pub fn corners(components: &[Component]) -> Result<Vec<Vec<f64>>, PlanError> {
    check_bounds(components)?;
    let q = components.len();
    let mut found: Vec<Vec<f64>> = Vec::new();
    for slack in 0..q {
        for ends in 0u32..1 << (q - 1) {
            let mut point = vec![0.0; q];
            let mut rest = 1.0;
            for i in (0..q).filter(|&i| i != slack) {
                let bit = i - usize::from(i > slack);
                point[i] = if ends >> bit & 1 == 1 {
                    components[i].high
                } else {
                    components[i].low
                };
                rest -= point[i];
            }
            point[slack] = super::design::tidy(rest);
            if rest < components[slack].low - SAME || rest > components[slack].high + SAME {
                continue;
            }
            if !found.iter().any(|p| same(p, &point)) {
                found.push(point);
            }
        }
    }
    found.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
    Ok(found)
}

/// The mean of the corners on each face (each bound that is reached by corners spanning it).
///
/// - Rule: the mean of the corners on each bound that enough of them reach
/// - Units: parts \[shares\]
/// - Valid: corners of those bounds
/// - Source: geometry: the middles of a triangle's sides
///
/// ```
/// use trials::plan::{Component, vertices::{corners, face_centroids}};
/// let free = ["a", "b", "c"].map(|n| Component { name: n.into(), low: 0.0, high: 1.0 });
/// let middles = face_centroids(&free, &corners(&free).unwrap());
/// assert!(middles.contains(&vec![0.0, 0.5, 0.5]));
/// ```
pub fn face_centroids(components: &[Component], corners: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let q = components.len();
    let mut centres: Vec<Vec<f64>> = Vec::new();
    for (i, c) in components.iter().enumerate() {
        for end in [c.low, c.high] {
            let on: Vec<&Vec<f64>> = corners
                .iter()
                .filter(|p| (p[i] - end).abs() < SAME)
                .collect();
            // A face of a region of dimension q − 1 is spanned by at least q − 1 corners.
            if on.len() >= q - 1 && on.len() < corners.len() {
                let m = mean(&on);
                if !centres.iter().any(|p| same(p, &m)) {
                    centres.push(m);
                }
            }
        }
    }
    centres
}

/// The middle of every edge: pairs of corners that share all but one of the bounds that fix them.
pub(crate) fn edge_centres(components: &[Component], corners: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let q = components.len();
    let tight = |p: &[f64]| -> Vec<(usize, bool)> {
        components
            .iter()
            .enumerate()
            .flat_map(|(i, c)| {
                [
                    ((p[i] - c.low).abs() < SAME).then_some((i, false)),
                    ((p[i] - c.high).abs() < SAME).then_some((i, true)),
                ]
            })
            .flatten()
            .collect()
    };
    let bounds: Vec<_> = corners.iter().map(|p| tight(p)).collect();
    let mut middles: Vec<Vec<f64>> = Vec::new();
    for a in 0..corners.len() {
        for b in a + 1..corners.len() {
            let shared = bounds[a].iter().filter(|t| bounds[b].contains(t)).count();
            if shared + 2 >= q {
                let m = mean(&[&corners[a], &corners[b]]);
                if !middles.iter().any(|p| same(p, &m)) {
                    middles.push(m);
                }
            }
        }
    }
    middles
}

/// The mean of points.
///
/// - Equation: Σ points/n
/// - Units: parts \[shares\]
/// - Valid: one point or more
/// - Source: definition
///
/// ```
/// let middle = trials::plan::vertices::centroid(&[vec![1.0, 0.0], vec![0.0, 1.0]]);
/// assert_eq!(middle, [0.5, 0.5]);
/// ```
pub fn centroid(points: &[Vec<f64>]) -> Vec<f64> {
    mean(&points.iter().collect::<Vec<_>>())
}

/// Settings to choose a plan from: corners, edge middles, face centres, the centre, and points half
/// way from the centre to each corner; every point once.
///
/// - Rule: corners, middles of edges and faces, the middle, and points half way to each corner
/// - Units: parts \[shares\]
/// - Valid: bounds that leave a mixture
/// - Source: geometry: 3 corners, 3 middles of sides, 1 middle and 3 half ways of a triangle
///
/// ```
/// use trials::plan::{Component, vertices::candidates};
/// let free = ["a", "b", "c"].map(|n| Component { name: n.into(), low: 0.0, high: 1.0 });
/// assert_eq!(candidates(&free).unwrap().len(), 10);
/// ```
///
/// # Errors
/// As [`check_bounds`].
pub fn candidates(components: &[Component]) -> Result<Vec<Vec<f64>>, PlanError> {
    let corners = corners(components)?;
    let centre = centroid(&corners);
    let mut all = corners.clone();
    let inner = corners.iter().map(|c| mean(&[c, &centre]));
    let more = edge_centres(components, &corners)
        .into_iter()
        .chain(face_centroids(components, &corners))
        .chain([centre.clone()])
        .chain(inner);
    for point in more {
        if !all.iter().any(|p| same(p, &point)) {
            all.push(point);
        }
    }
    Ok(all)
}

/// A mixture in L-pseudo-components, (x − L)/(1 − ΣL), which spread a small region over the whole
/// scale so that the model can be fitted without loss of digits.
pub(crate) fn pseudo(components: &[Component], mixture: &[f64]) -> Vec<f64> {
    let rest = 1.0 - components.iter().map(|c| c.low).sum::<f64>();
    if rest < SAME {
        return mixture.to_vec();
    }
    components
        .iter()
        .zip(mixture)
        .map(|(c, x)| (x - c.low) / rest)
        .collect()
}

fn same(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(x, y)| (x - y).abs() < SAME)
}

fn mean(points: &[&Vec<f64>]) -> Vec<f64> {
    let q = points.first().map_or(0, |p| p.len());
    (0..q)
        .map(|i| {
            super::design::tidy(points.iter().map(|p| p[i]).sum::<f64>() / points.len() as f64)
        })
        .collect()
}
