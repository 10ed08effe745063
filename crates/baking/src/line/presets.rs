//! Named example lines. None is a real one: copy the nearest and put in your own numbers.

use super::setting::{BREAKAGE, DOUGH_LOSS, REWORK_CAP, UTILISATION};
use super::{Cavities, Conversion, Former, LineSetting, Mixer, Packer};
use crate::after::Conveyor;
use measure::{Grade, Source};

fn example(
    name: &str,
    mixer: Mixer,
    former: Former,
    cooler: Conveyor,
    packer: Packer,
) -> LineSetting {
    LineSetting {
        name: name.into(),
        mixer,
        former,
        dryer: None,
        cooler,
        packer,
        oven_utilisation: UTILISATION.value,
        heating: None,
        oven_efficiency: None,
        dough_loss: DOUGH_LOSS.value,
        rework_cap: REWORK_CAP.value,
        breakage: BREAKAGE.value,
        conversion: Conversion::default(),
        source: Source::fixed(
            Grade::Assumed,
            "example of this program; replace by your own line's readings",
        ),
    }
}

/// A bench: planetary mixer, hand cutting, racks, packing by hand.
pub fn bench() -> LineSetting {
    LineSetting {
        rework_cap: 0.5,
        ..example(
            "bench",
            Mixer {
                count: 1,
                batch_kg: 3.0,
                cycle_s: 1200.0,
            },
            Former::Hand {
                pieces_per_h: 600.0,
                trim: 0.25,
            },
            Conveyor {
                area_m2: 2.0,
                crowding: 1.0,
            },
            Packer {
                packs_per_min: 1.0,
                label_kg: 0.25,
                giveaway: 0.02,
            },
        )
    }
}

/// A sheeter and cutter before a band oven a metre wide; the trim goes back into the sheet.
pub fn sheeted() -> LineSetting {
    LineSetting {
        rework_cap: 0.4,
        ..example(
            "sheeter and cutter",
            Mixer {
                count: 2,
                batch_kg: 200.0,
                cycle_s: 1200.0,
            },
            Former::SheeterCutter {
                width_m: 0.9,
                speed_m_per_s: 4.0 / 60.0,
                cut_gap_m: 0.003,
                trim: None,
            },
            Conveyor {
                area_m2: 60.0,
                crowding: 1.0,
            },
            Packer {
                packs_per_min: 40.0,
                label_kg: 0.5,
                giveaway: 0.015,
            },
        )
    }
}

/// A rotary moulder before a band oven a metre wide.
pub fn rotary() -> LineSetting {
    example(
        "rotary moulder",
        Mixer {
            count: 2,
            batch_kg: 200.0,
            cycle_s: 1200.0,
        },
        Former::RotaryMoulder {
            die_diameter_m: 0.24,
            cavities: Cavities::ForPiece { width_m: 0.96 },
            most_rpm: 15.0,
        },
        Conveyor {
            area_m2: 60.0,
            crowding: 1.0,
        },
        Packer {
            packs_per_min: 40.0,
            label_kg: 0.5,
            giveaway: 0.015,
        },
    )
}

/// Every example line.
pub fn all() -> Vec<LineSetting> {
    vec![bench(), sheeted(), rotary()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn examples_pass_their_check_and_say_they_are_assumed() {
        for line in all() {
            line.check().unwrap();
            assert_eq!(line.source.grade, Grade::Assumed);
        }
    }
}
