//! The ingredient statement.

use crate::formula::Formula;
use crate::material::Category;

/// The ingredients in descending order of mass as added to the dough, before baking, by their
/// label names; lines of one label name are added up, ties go by name.
///
/// Water stands in it as added when `with_water`; where water that leaves in the oven need not be
/// named, leave it out. Preservatives are told as such.
///
/// Order as added before baking: common practice, to be confirmed against the rules in force.
pub fn ingredient_statement(formula: &Formula, with_water: bool) -> String {
    let mut sums: Vec<(String, f64)> = Vec::new();
    for line in formula.lines() {
        let m = &line.material;
        if line.parts == 0.0 || (m.is_water() && !with_water) {
            continue;
        }
        let keeps = matches!(m.category, Category::Preservative | Category::Antioxidant);
        let name = if keeps && !m.label_name.contains("preservative") {
            format!("{} (a preservative)", m.label_name)
        } else {
            m.label_name.clone()
        };
        match sums.iter_mut().find(|(n, _)| *n == name) {
            Some((_, kg)) => *kg += line.parts,
            None => sums.push((name, line.parts)),
        }
    }
    sums.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let names: Vec<String> = sums.into_iter().map(|(name, _)| name).collect();
    names.join(", ")
}
