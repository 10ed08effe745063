//! Errors that tell apart what was found and the way out, in the units that are read.

use crate::Units;

/// What was found and the way out, each without a full stop; together, with a semicolon between,
/// they are the error's words.
///
/// ```
/// use measure::{Apart, Units, error_apart};
/// #[derive(Debug)]
/// struct TooThick { mm: f64 }
/// impl Apart for TooThick {
///     fn apart(&self, units: Units) -> (String, String) {
///         let Self { mm } = self;
///         (format!("it is {mm} mm{}", units.also(&[*mm], "mm")), "roll it thinner".to_owned())
///     }
/// }
/// error_apart!(TooThick);
/// assert_eq!(TooThick { mm: 50.8 }.to_string(), "it is 50.8 mm; roll it thinner");
/// assert_eq!(TooThick { mm: 50.8 }.apart(Units::Us).0, "it is 50.8 mm (2.00 in)");
/// ```
pub trait Apart {
    /// What was found, and the way out (empty where there is none). Lengths and temperatures are
    /// told in metric units, and in others behind them where these are read.
    fn apart(&self, units: Units) -> (String, String);

    /// Both as one text in metric units.
    fn joined(&self) -> String {
        let (found, way_out) = self.apart(Units::Metric);
        if way_out.is_empty() {
            found
        } else {
            format!("{found}; {way_out}")
        }
    }
}

/// Makes an error of what tells apart what was found and the way out.
#[macro_export]
macro_rules! error_apart {
    ($error:ty) => {
        impl std::fmt::Display for $error {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&$crate::Apart::joined(self))
            }
        }

        impl std::error::Error for $error {}
    };
}
