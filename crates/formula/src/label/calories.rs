//! The calorie content statement.

/// Metabolisable energy as fed in words, "calculated" because it comes from an equation.
///
/// kcal/kg to the nearest 10; kcal per piece to the nearest whole, one decimal below 5 (house
/// rule). The energy is that of average values, never of guarantees.
///
/// - Rule: kcal/kg to the nearest 10, kcal per piece whole, one decimal below 5
/// - Units: energy \[kcal/kg\], piece \[kg\]
/// - Valid: energy and mass from 0
/// - Source: layout of US pet food labels (model regulation PF9, from memory, to be confirmed); the rounding is a
///   house rule
///
/// ```
/// assert_eq!(
///     formula::label::calorie_content(3668.95, 0.005, "treat"),
///     "Calorie Content (calculated): 3,670 kcal ME/kg, 18 kcal/treat"
/// );
/// ```
pub fn calorie_content(kcal_per_kg: f64, piece_kg: f64, unit: &str) -> String {
    let per_kg = (kcal_per_kg / 10.0).round() * 10.0;
    let per_piece = kcal_per_kg * piece_kg;
    let piece = if per_piece < 5.0 {
        format!("{per_piece:.1}")
    } else {
        format!("{per_piece:.0}")
    };
    format!(
        "Calorie Content (calculated): {} kcal ME/kg, {piece} kcal/{unit}",
        thousands(per_kg)
    )
}

fn thousands(value: f64) -> String {
    let digits = format!("{value:.0}");
    let head = digits.len() % 3;
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && i % 3 == head {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
