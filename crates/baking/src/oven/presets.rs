//! Named example ovens. None is a real one: copy the nearest and put in your own numbers.

use super::{Humidity, Kind, Oven, Surface, TopHeat, Zone, ZoneLength};
use measure::{Grade, Source, temperature::kelvin};

const INVENTED: Source = Source::fixed(
    Grade::Assumed,
    "example of this program, within the usual settings for dense pet biscuits; replace by your oven's readings and calibrate",
);

struct Row(&'static str, f64, f64, f64, f64, f64, f64, f64);

/// Name, share of the length, air, radiating and band temperature \[°C\], humidity \[kg/kg\], top and
/// bottom coefficient \[W/(m² K)\].
fn zone(Row(name, share, air, radiating, band, humidity, top, bottom): Row) -> Zone {
    Zone {
        name: name.into(),
        length: ZoneLength::Share(share),
        air_k: kelvin(air),
        radiating_k: Some(kelvin(radiating)),
        band_k: kelvin(band),
        humidity: Humidity::KgPerKg(humidity),
        top: TopHeat::Coefficient(top),
        bottom_w_per_m2_k: bottom,
    }
}

/// A bench convection oven with two trays and baking paper.
pub fn bench_convection() -> Oven {
    Oven {
        name: "bench convection oven".into(),
        kind: Kind::Batch {
            trays: 2,
            tray_area_m2: 0.40 * 0.30,
            pieces_per_tray: None,
            paper: true,
            loading_s: 180.0,
        },
        zones: vec![zone(Row(
            "chamber", 1.0, 170.0, 165.0, 150.0, 0.03, 25.0, 45.0,
        ))],
        steps: Vec::new(),
        source: INVENTED,
    }
}

/// A three-zone band oven with a closed steel band.
pub fn steel_band() -> Oven {
    Oven {
        name: "three-zone steel band".into(),
        kind: Kind::Band {
            surface: Surface::Steel,
            length_m: 30.0,
            width_m: 1.0,
            edge_clear_m: 0.02,
        },
        zones: vec![
            zone(Row("entrance", 4.0, 180.0, 190.0, 150.0, 0.10, 20.0, 80.0)),
            zone(Row("middle", 6.0, 210.0, 220.0, 180.0, 0.12, 25.0, 80.0)),
            zone(Row("exit", 7.6, 200.0, 205.0, 175.0, 0.06, 25.0, 80.0)),
        ],
        steps: Vec::new(),
        source: INVENTED,
    }
}

/// A band oven with a wire mesh, hot air through jets, and a drying zone at its end.
pub fn mesh_band() -> Oven {
    Oven {
        name: "mesh band with drying zone".into(),
        kind: Kind::Band {
            surface: Surface::Mesh { open_fraction: 0.5 },
            length_m: 24.0,
            width_m: 1.0,
            edge_clear_m: 0.02,
        },
        zones: vec![
            zone(Row("baking", 0.3, 190.0, 190.0, 160.0, 0.08, 35.0, 50.0)),
            zone(Row("browning", 0.3, 200.0, 200.0, 175.0, 0.06, 35.0, 50.0)),
            zone(Row("drying", 0.4, 120.0, 120.0, 115.0, 0.03, 30.0, 40.0)),
        ],
        steps: Vec::new(),
        source: INVENTED,
    }
}

/// Every example oven.
pub fn all() -> Vec<Oven> {
    vec![bench_convection(), steel_band(), mesh_band()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Code;

    #[test]
    fn examples_pass_their_check_and_say_they_are_assumed() {
        let ovens = all();
        for oven in &ovens {
            oven.check().unwrap();
            assert_eq!(oven.source.grade, Grade::Assumed);
            assert!((oven.shares().iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert!(oven.findings().iter().any(|f| f.code == Code::HotSurfaces));
        }
        assert!(ovens.windows(2).all(|w| w[0].name != w[1].name));
    }

    #[test]
    fn lengths_in_metres_must_add_up() {
        let mut oven = steel_band();
        for zone in &mut oven.zones {
            zone.length = ZoneLength::Metres(9.0);
        }
        let error = oven.check().unwrap_err().to_string();
        assert!(
            error.contains("27.00 m long together, its heated length is 30.00 m"),
            "{error}"
        );
        oven.zones[0].length = ZoneLength::Share(0.3);
        assert!(
            oven.check()
                .unwrap_err()
                .to_string()
                .contains("use one of them for all")
        );
        oven.zones[0].length = ZoneLength::Metres(12.0);
        oven.check().unwrap();
    }
}
