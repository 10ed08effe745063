//! Pieces per hour: the plain formulas, each with its worked numbers.

use measure::units::HOUR_S;

/// Pieces across a band: floor((W − 2·edge − D)/pitch) + 1, none when not even one fits.
///
/// The second example is the imperial form N = (W + S − D − 2X)/S of an old text, quoted on a trade
/// page (seen); its numbers were made for this check.
///
/// - Equation: n = ⌊(W − 2 e − D)/p⌋ + 1
/// - Units: W, e, D, p \[m\], n \[pieces\]
/// - Valid: any band; 0 where not one fits
/// - Source: geometry; the second example in the form of an old text on a trade page (seen)
///
/// ```
/// use baking::line::capacity::pieces_across;
/// assert_eq!(pieces_across(1.2, 0.02, 0.050, 0.055), 21);
/// let inch = measure::units::INCH_M;
/// assert_eq!(pieces_across(48.0 * inch, 0.75 * inch, 2.0 * inch, 2.25 * inch), 20);
/// ```
pub fn pieces_across(width_m: f64, edge_clear_m: f64, piece_width_m: f64, pitch_m: f64) -> u32 {
    let room = width_m - 2.0 * edge_clear_m - piece_width_m;
    // A hair of room, so that an exact fit is a fit in any arithmetic.
    let hair = 1e-9;
    if room < -hair {
        0
    } else {
        ((room + hair) / pitch_m).floor() as u32 + 1
    }
}

/// Pieces on the band of an oven at a time: across · length / pitch along.
///
/// - Equation: n = across · L/p
/// - Units: across \[pieces\], L and p \[m\], n \[pieces\]
/// - Valid: a band long against its pitch
/// - Source: geometry, an identity; the numbers made for this check
///
/// ```
/// use baking::line::capacity::pieces_on_band;
/// // 21 rows of 60 m at a pitch of 45 mm: 1333.3 in each.
/// assert!((pieces_on_band(21, 60.0, 0.045) - 28_000.0).abs() < 1e-6);
/// ```
pub fn pieces_on_band(across: u32, length_m: f64, pitch_along_m: f64) -> f64 {
    f64::from(across) * length_m / pitch_along_m
}

/// Pieces per hour of a band oven: pieces in it / bake time.
///
/// - Equation: n = pieces in the oven/bake time
/// - Units: pieces \[1\], time \[s\], n \[1/h\]
/// - Valid: steady running
/// - Source: an identity; the imperial example follows an old text quoted on a trade page (seen)
///
/// ```
/// use baking::line::capacity::{band_pieces_per_h, pieces_on_band};
/// let on = pieces_on_band(21, 60.0, 0.045);
/// assert!((on - 28_000.0).abs() < 1e-6);
/// assert!((band_pieces_per_h(on, 720.0) - 140_000.0).abs() < 1e-6);
/// // 6.4 rows per foot · 20 across · 200 ft at 45 pieces per pound and 12 minutes: 2844.44 lb/h.
/// let foot = 12.0 * measure::units::INCH_M;
/// let on = pieces_on_band(20, 200.0 * foot, foot / 6.4);
/// assert!((band_pieces_per_h(on, 720.0) / 45.0 - 2844.44).abs() < 0.01);
/// ```
pub fn band_pieces_per_h(pieces_on_band: f64, bake_time_s: f64) -> f64 {
    pieces_on_band * HOUR_S / bake_time_s
}

/// Pieces per hour of a batch oven: load / (bake time + loading time).
///
/// - Equation: n = load/(bake time + loading time)
/// - Units: load \[pieces\], times \[s\], n \[1/h\]
/// - Valid: one load after the other
/// - Source: an identity
///
/// ```
/// // 60 pieces, 25 min bake and 5 min loading: 120 an hour.
/// assert!((baking::line::capacity::batch_pieces_per_h(60.0, 1500.0, 300.0) - 120.0).abs() < 1e-9);
/// ```
pub fn batch_pieces_per_h(load: f64, bake_time_s: f64, loading_s: f64) -> f64 {
    load * HOUR_S / (bake_time_s + loading_s)
}

/// Pieces per hour of a rotary moulder whose die runs at a surface speed \[m/s\]:
/// around · across · rpm · 60 with rpm = speed / (π D).
///
/// - Equation: n = around · across · v/(π D)
/// - Units: D \[m\], v \[m/s\], n \[1/h\]
/// - Valid: a die that turns at the speed of its band
/// - Source: geometry; the example worked out apart
///
/// ```
/// use baking::line::capacity::rotary_pieces_per_h;
/// // 240 mm die, 16 × 21 cavities, 5 m/min: 6.631 rpm and 133 690 pieces/h.
/// assert!((rotary_pieces_per_h(0.240, 16, 21, 5.0 / 60.0) - 133_690.15).abs() < 0.01);
/// ```
pub fn rotary_pieces_per_h(
    die_diameter_m: f64,
    around: u32,
    across: u32,
    speed_m_per_s: f64,
) -> f64 {
    let turns_per_s = speed_m_per_s / (std::f64::consts::PI * die_diameter_m);
    f64::from(around) * f64::from(across) * turns_per_s * HOUR_S
}

/// Dough through a sheeter \[kg/h\]: width · thickness · speed · density.
///
/// - Equation: m = w h v ρ
/// - Units: w, h \[m\], v \[m/s\], ρ \[kg/m³\], m \[kg/h\]
/// - Valid: a sheet of even thickness as it leaves the rolls
/// - Source: an identity
///
/// ```
/// use baking::line::capacity::sheet_kg_per_h;
/// let gross = sheet_kg_per_h(1.0, 0.006, 5.0 / 60.0, 1250.0);
/// assert!((gross - 2250.0).abs() < 1e-9);
/// assert!((gross * (1.0 - 0.30) - 1575.0).abs() < 1e-9);
/// ```
pub fn sheet_kg_per_h(
    width_m: f64,
    thickness_m: f64,
    speed_m_per_s: f64,
    dough_kg_per_m3: f64,
) -> f64 {
    width_m * thickness_m * speed_m_per_s * dough_kg_per_m3 * HOUR_S
}

/// Batches per hour that a dough need \[kg/h\] asks for, and mixers that takes.
///
/// - Equation: n = dough need/batch
/// - Units: need \[kg/h\], batch \[kg\], n \[1/h\]
/// - Valid: a batch above 0
/// - Source: an identity
///
/// ```
/// use baking::line::capacity::{batches_per_h, mixers_needed};
/// // 1260 kg baked per hour at a yield of 0.774194 and 4 % dough loss, batches of 250 kg in 20 min.
/// let batches = batches_per_h(1260.0 / (72.0 / 93.0) / 0.96, 250.0);
/// assert!((batches - 6.78125).abs() < 1e-9);
/// assert_eq!(mixers_needed(batches, 1200.0), 3);
/// ```
pub fn batches_per_h(dough_kg_per_h: f64, batch_kg: f64) -> f64 {
    dough_kg_per_h / batch_kg
}

/// Mixers for a number of batches per hour when one takes a cycle \[s\].
///
/// - Equation: N = ⌈batches · cycle⌉, at least one
/// - Units: batches \[1/h\], cycle \[s\], N \[mixers\]
/// - Valid: any need
/// - Source: an identity
///
/// ```
/// use baking::line::capacity::mixers_needed;
/// // Three batches an hour of 20 min keep one mixer busy; a fourth asks for a second.
/// assert_eq!((mixers_needed(3.0, 1200.0), mixers_needed(4.0, 1200.0), mixers_needed(0.0, 1200.0)), (1, 2, 1));
/// ```
pub fn mixers_needed(batches_per_h: f64, cycle_s: f64) -> u32 {
    (batches_per_h * cycle_s / HOUR_S - 1e-9).ceil().max(1.0) as u32
}
