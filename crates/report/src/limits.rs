//! What the answers are not.

use maud::{Markup, html};

/// The limits of what a report says, in plain words.
pub fn limits_of_validity() -> Markup {
    html! {
        ul .limits-of-validity {
            li { b { "The bake is a model, not your oven. " } "Its arithmetic is checked against closed solutions and balances; it has not been validated against measured time courses of this dough in this oven. Read differences between treatments with more trust than the minutes themselves, and weigh pieces pulled at set times before a setting is changed on its word." }
            li { b { "Heat and moisture transport in the crumb are assumed. " } "The defaults graded assumed or recalled stand in until the oven has been fitted to your own bakes." }
            li { b { "The water need is a first guess. " } "It adds up what the materials take and what the forming likes; a titration at the mixer settles it, and mixing, flour lot and stand time move it." }
            li { b { "The kill is a hint, never a validation. " } "It uses a heat resistance that depends on water activity, at the least treated place, and says where it goes beyond the range that tests support. A kill step has to be validated by a process authority for the product and the plant; raw dough and what touched it count as raw." }
            li { b { "Water activity rests on recalled sorption data. " } "Measure it in the packed piece before anything is said about shelf life; mould and softening are not predicted here." }
            li { b { "Cracking is not predicted, only its cause. " } "Uneven moisture after cooling makes later cracks likelier; how strong a piece is, this report doesn’t know." }
            li { b { "The label is a draft. " } "Names, order, guarantees, claims and the calorie statement have to be checked against the rules in force where the treat is sold, and the guarantees against analyses of the product." }
            li { b { "The list of dangerous ingredients is not complete. " } "What is not on it is not thereby safe; ask a veterinarian about anything that is new in a bowl." }
        }
    }
}
