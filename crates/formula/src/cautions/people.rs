//! What harms the people who bake.

use measure::Finding;
use measure::Severity::Note;

/// What harms the people who bake, for paper and screens.
pub fn bakery_cautions() -> Vec<Finding> {
    let note = |code: &str, about: &str, message: &str, help: &str, source: &str| {
        Finding::new(Note, code, about, message)
            .help(help)
            .source(source)
    };
    vec![
        note(
            "flour-dust",
            "bakery.dust",
            "Flour dust makes bakers' asthma and can explode (limit at work 0.5 mg/m³ inhalable over 8 hours in one list, other lists differ; gluten dust is easiest to ignite).",
            "Keep dust down, extract it, keep flames and sparks away; local codes and a competent person decide.",
            "national limit lists and a millers' dust guide, seen in excerpts",
        ),
        note(
            "raw-dough",
            "bakery.dough",
            "Raw flour and raw dough can carry E. coli and Salmonella; yeast dough goes on fermenting.",
            "Don't taste it, feed none of it to an animal, wash hands, keep raw and baked apart.",
            "public health warnings, seen",
        ),
        note(
            "hot-surfaces",
            "bakery.oven",
            "Oven, trays, band and fresh pieces burn.",
            "Wear gloves, let pieces cool before you handle or feed them; lock out the drive before reaching in.",
            "common practice, no source",
        ),
        note(
            "feeding",
            "label.feeding",
            "Hard pieces can choke or break teeth.",
            "Say on the pack: supervise your pet, break for small animals, give fresh water, wash hands, keep dry.",
            "common practice, no source",
        ),
    ]
}
