//! Films of packs and how much water vapour they let through.

use crate::properties::water::saturation_pressure_pa;
use measure::units::DAY_S;
use measure::{Grade, Source};

/// A film.
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    /// Short name, as in `--film`.
    pub key: &'static str,
    /// Name shown to people.
    pub name: &'static str,
    /// Transmission of water vapour at 38 °C and 90 % relative humidity against dry air, least and most
    /// \[g/(m² d)\]; none when nothing is known.
    pub g_per_m2_d: Option<(f64, f64)>,
    /// Where that comes from.
    pub source: Source,
}

/// Why a film can't be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FilmError {
    /// Not in the table.
    #[error("no film is called \"{key}\"; known are {known}; or give its own transmission")]
    Unknown {
        /// What was asked for.
        key: String,
        /// What there is.
        known: String,
    },
    /// In the table, without a number.
    #[error(
        "no transmission of water vapour is known for {name}; ask its maker for the value at 38 °C and 90 % and give that, or choose another film"
    )]
    NoData {
        /// The film.
        name: &'static str,
    },
}

const TABLE: &str = "permeability table at 38 °C and 90 % relative humidity of a university textbook of biosystems \
                     engineering (seen, table 11.2), converted to 25 µm";
const MEMORY: &str = "from memory, to be confirmed; the maker's sheet decides";

const fn seen(key: &'static str, name: &'static str, low: f64, high: f64) -> Film {
    Film {
        key,
        name,
        g_per_m2_d: Some((low, high)),
        source: Source::fixed(Grade::Published, TABLE),
    }
}

const fn recalled(key: &'static str, name: &'static str, low: f64, high: f64) -> Film {
    Film {
        key,
        name,
        g_per_m2_d: Some((low, high)),
        source: Source::fixed(Grade::Recalled, MEMORY),
    }
}

const fn unknown(key: &'static str, name: &'static str) -> Film {
    Film {
        key,
        name,
        g_per_m2_d: None,
        source: Source::fixed(Grade::Assumed, "no value found"),
    }
}

impl Film {
    /// Every film of the table.
    pub const ALL: [Self; 14] = [
        seen("ldpe", "low-density polyethylene, 25 µm", 15.8, 31.5),
        seen("hdpe", "high-density polyethylene, 25 µm", 4.7, 9.5),
        seen("pp", "cast polypropylene, 25 µm", 9.5, 11.0),
        seen("opp", "oriented polypropylene, 25 µm", 3.2, 7.9),
        seen("pet", "polyester, 25 µm", 15.8, 31.5),
        seen("pvdc", "polyvinylidene chloride, 25 µm", 0.3, 9.5),
        seen("nylon-6", "nylon 6, 25 µm", 157.0, 315.0),
        seen("ps", "polystyrene, 25 µm", 110.0, 157.0),
        seen(
            "nylon-ldpe",
            "nylon on low-density polyethylene, 25 µm",
            7.9,
            7.9,
        ),
        recalled("met-opp", "metallised oriented polypropylene", 0.2, 0.6),
        recalled("met-pet", "metallised polyester", 0.5, 1.5),
        recalled("foil", "foil laminate", 0.01, 0.05),
        unknown("paper", "uncoated kraft paper"),
        unknown("cellulose", "compostable cellulose film"),
    ];

    /// The film with a short name.
    ///
    /// # Errors
    /// No such film; what there is.
    pub fn find(key: &str) -> Result<&'static Self, FilmError> {
        static ALL: [Film; 14] = Film::ALL;
        ALL.iter()
            .find(|f| f.key == key)
            .ok_or_else(|| FilmError::Unknown {
                key: key.to_owned(),
                known: ALL.iter().map(|f| f.key).collect::<Vec<_>>().join(", "),
            })
    }

    /// Its transmission at 38 °C and 90 %, the geometric mean of least and most \[g/(m² d)\].
    ///
    /// - Equation: √(least · most)
    /// - Units: \[g/(m² d)\] at 38 °C and 90 %
    /// - Valid: films of the table
    /// - Source: the table's source stands beside each film; 15.8 to 31.5 of polyethylene in a university textbook
    ///   (seen)
    ///
    /// ```
    /// use baking::after::Film;
    /// let ldpe = Film::ALL.into_iter().find(|f| f.g_per_m2_d == Some((15.8, 31.5))).unwrap();
    /// assert!((ldpe.transmission_g_per_m2_d().unwrap() - (15.8 * 31.5_f64).sqrt()).abs() < 1e-9);
    /// ```
    ///
    /// # Errors
    /// Nothing is known, by name.
    pub fn transmission_g_per_m2_d(&self) -> Result<f64, FilmError> {
        self.g_per_m2_d
            .map(|(low, high)| (low * high).sqrt())
            .ok_or(FilmError::NoData { name: self.name })
    }
}

/// Permeance \[kg/(m² s Pa)\] from a transmission \[g/(m² d)\] at a temperature \[K\] and a difference of relative
/// humidity across the film (0 to 1).
///
/// Check: 0.5 g/(m² d) at 38 °C and 90 % is 8.377e-5 g/(m² d Pa) (computed, with 6632 Pa).
///
/// - Equation: k = WVTR/(p_sat(T) Δφ)
/// - Units: WVTR \[g/(m² d)\], T \[K\], Δφ \[1\], k \[kg/(m² s Pa)\]
/// - Valid: a film whose transmission goes with the difference of vapour pressure; 5 to 45 °C
/// - Source: definition of permeance (as Labuza and others use it for packs); the check with 6632 Pa at 38 °C
///   computed apart
///
/// ```
/// use baking::after::film::permeance_kg_per_m2_s_pa;
/// let k = permeance_kg_per_m2_s_pa(0.5, 311.15, 0.9);
/// assert!((k * 86_400.0 * 1e3 / 8.377e-5 - 1.0).abs() < 1e-3);
/// ```
pub fn permeance_kg_per_m2_s_pa(
    transmission_g_per_m2_d: f64,
    temperature_k: f64,
    humidity_difference: f64,
) -> f64 {
    transmission_g_per_m2_d * 1e-3
        / DAY_S
        / (saturation_pressure_pa(temperature_k) * humidity_difference)
}

/// Permeance \[kg/(m² s Pa)\] from a transmission told at 38 °C and 90 % \[g/(m² d)\].
///
/// - Equation: k = WVTR/(0.9 p_sat(38 °C))
/// - Units: WVTR \[g/(m² d)\], k \[kg/(m² s Pa)\]
/// - Valid: a transmission told at 38 °C and 90 %
/// - Source: definition of permeance; 6632 Pa at 38 °C by steam table
///
/// ```
/// use baking::after::film::tropical_permeance_kg_per_m2_s_pa;
/// // 0.5 g/(m² d) over 0.9 · 6632 Pa, in a day of 86 400 s.
/// let wanted = 0.5e-3 / 86_400.0 / (0.9 * 6632.0);
/// assert!((tropical_permeance_kg_per_m2_s_pa(0.5) / wanted - 1.0).abs() < 1e-3);
/// ```
pub fn tropical_permeance_kg_per_m2_s_pa(transmission_g_per_m2_d: f64) -> f64 {
    permeance_kg_per_m2_s_pa(transmission_g_per_m2_d, 311.15, 0.9)
}
