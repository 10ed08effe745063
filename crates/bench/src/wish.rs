//! From what a person types to the wish for a plan: the same words on the command line and on screen.

use trials::plan::{
    Augmented, Blocks, BoxBehnken, CentralComposite, CompletelyRandomised, Component,
    ConstrainedMixture, Degree, Design, Factor, Factorial, Fractional, LatinSquare, MOST_BLOCKS,
    Named, Reach, Request, SimplexCentroid, SimplexLattice, SplitPlot, Williams,
};

/// What can be typed of a plan; which of it a design takes tells [`takes`].
#[derive(Clone, Debug, Default, PartialEq)]
#[expect(missing_docs, reason = "each is described once, in `Field::about`")]
pub struct Typed {
    pub treatments: Vec<String>,
    pub replicates: Option<usize>,
    pub block_name: Option<String>,
    pub blocks: Option<usize>,
    pub per_block: Option<usize>,
    pub row_name: Option<String>,
    pub column_name: Option<String>,
    pub squares: Option<usize>,
    pub dogs: Option<usize>,
    pub factor: Vec<String>,
    pub whole_plot: Option<String>,
    pub control: Option<String>,
    pub controls: Option<usize>,
    pub drop: Option<usize>,
    pub generator: Vec<String>,
    pub reach: Option<String>,
    pub centre: Option<usize>,
    pub part: Vec<String>,
    pub steps: Option<usize>,
    pub degree: Option<String>,
    pub runs: Option<usize>,
    pub starts: Option<usize>,
}

/// A field of [`Typed`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is described once, in `about`")]
pub enum Field {
    Treatments,
    Replicates,
    BlockName,
    Blocks,
    PerBlock,
    RowName,
    ColumnName,
    Squares,
    Dogs,
    Factor,
    WholePlot,
    Control,
    Controls,
    Drop,
    Generator,
    Reach,
    Centre,
    Part,
    Steps,
    Degree,
    Runs,
    Starts,
}

/// How a field is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A whole number.
    Count,
    /// A line of words.
    Line,
    /// Several lines.
    Lines,
}

impl Field {
    /// Every field.
    pub const ALL: [Self; 22] = [
        Self::Treatments,
        Self::Replicates,
        Self::BlockName,
        Self::Blocks,
        Self::PerBlock,
        Self::RowName,
        Self::ColumnName,
        Self::Squares,
        Self::Dogs,
        Self::Factor,
        Self::WholePlot,
        Self::Control,
        Self::Controls,
        Self::Drop,
        Self::Generator,
        Self::Reach,
        Self::Centre,
        Self::Part,
        Self::Steps,
        Self::Degree,
        Self::Runs,
        Self::Starts,
    ];

    /// Its word in options and forms, what it is, and how it is typed.
    #[rustfmt::skip] // a table reads best as a table
    pub const fn about(self) -> (&'static str, &'static str, Shape) {
        use Shape::{Count, Line, Lines};
        match self {
            Self::Treatments => ("treatments", "treatments", Lines),
            Self::Replicates => ("replicates", "batches of each", Count),
            Self::BlockName => ("block-name", "what a block is", Line),
            Self::Blocks => ("blocks", "how many blocks", Count),
            Self::PerBlock => ("per-block", "batches of each in a block", Count),
            Self::RowName => ("row-name", "what a row is", Line),
            Self::ColumnName => ("column-name", "what a column is", Line),
            Self::Squares => ("squares", "squares", Count),
            Self::Dogs => ("dogs", "dogs", Count),
            Self::Factor => ("factor", "factors, one a line", Lines),
            Self::WholePlot => ("whole-plot", "what is hard to change", Line),
            Self::Control => ("control", "the control beside the factors", Line),
            Self::Controls => ("controls", "control batches in each replicate", Count),
            Self::Drop => ("drop", "halve the runs so many times", Count),
            Self::Generator => ("generator", "generators, one a line", Lines),
            Self::Reach => ("reach", "how far out: rotatable, spherical, face, or a number", Line),
            Self::Centre => ("centre", "repeats of the centre", Count),
            Self::Part => ("part", "parts of the mixture, one a line", Lines),
            Self::Steps => ("steps", "steps of the lattice", Count),
            Self::Degree => ("degree", "model: linear, interaction, quadratic, special-cubic", Line),
            Self::Runs => ("runs", "runs", Count),
            Self::Starts => ("starts", "starts of the search", Count),
        }
    }

    /// Its word in options and forms.
    pub const fn word(self) -> &'static str {
        self.about().0
    }
}

/// What a design takes.
pub const fn takes(design: Design) -> &'static [Field] {
    use Field as F;
    match design {
        Design::CompletelyRandomised => &[F::Treatments, F::Replicates],
        Design::Blocks => &[F::Treatments, F::Blocks, F::BlockName, F::PerBlock],
        Design::LatinSquare => &[F::Treatments, F::RowName, F::ColumnName, F::Squares],
        Design::Williams => &[F::Treatments, F::Dogs],
        Design::Factorial => &[F::Factor, F::Replicates, F::BlockName],
        Design::Fractional => &[F::Factor, F::Drop, F::Generator, F::Replicates],
        Design::Augmented => &[
            F::Factor,
            F::Control,
            F::Controls,
            F::Replicates,
            F::BlockName,
        ],
        Design::SplitPlot => &[F::WholePlot, F::Factor, F::Blocks, F::BlockName],
        Design::CentralComposite => &[F::Factor, F::Reach, F::Centre],
        Design::BoxBehnken => &[F::Factor, F::Centre],
        Design::SimplexLattice => &[F::Part, F::Steps, F::Replicates],
        Design::SimplexCentroid => &[F::Part, F::Replicates],
        Design::ConstrainedMixture => &[F::Part, F::Factor, F::Degree, F::Runs, F::Starts],
    }
}

/// The question that a design answers, as a person asks it.
pub const fn question(design: Design) -> &'static str {
    match design {
        Design::Blocks => "Several formulas, one oven, several days or parts of a day",
        Design::CompletelyRandomised => {
            "Several formulas, all on one day under the same conditions"
        }
        Design::LatinSquare => {
            "Several formulas, where both the day and the place in the day may matter"
        }
        Design::SplitPlot => "Oven settings that are hard to change, several formulas in each load",
        Design::Factorial => "Two or more choices that may act on each other",
        Design::Augmented => "New combinations beside a control that is none of them",
        Design::Fractional => "Many either-or choices to sift with few batches",
        Design::CentralComposite => "Which setting is best, where settings are numbers",
        Design::BoxBehnken => "Which setting is best, where all extremes together can’t be run",
        Design::ConstrainedMixture => {
            "Which blend is best, each part between a least and a most, water on top"
        }
        Design::SimplexLattice => "How a response follows the shares of a blend, in equal steps",
        Design::SimplexCentroid => {
            "How a response follows the shares of a blend, with blends of all sizes"
        }
        Design::Williams => "Several foods offered to the same dogs one after another",
    }
}

/// What was typed and can't be read: the field, what stands in it, and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WishError {
    /// The field.
    pub field: Field,
    /// What was found; empty where nothing was.
    pub found: String,
    /// What is allowed, with an example.
    pub allowed: String,
}

impl std::fmt::Display for WishError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (word, ..) = self.field.about();
        match self.found.as_str() {
            "" => write!(f, "{word}: {}", self.allowed),
            found => write!(f, "{word} ‘{found}’: {}", self.allowed),
        }
    }
}

impl std::error::Error for WishError {}

fn wrong(field: Field, found: impl Into<String>, allowed: impl Into<String>) -> WishError {
    WishError {
        field,
        found: found.into(),
        allowed: allowed.into(),
    }
}

/// The wish for a design, with what is usual where nothing was typed.
///
/// ```
/// use bench::wish::{Typed, wish};
/// use trials::plan::{Design, Unit, plan};
/// let typed = Typed { treatments: vec!["control".into(), "barley".into()], blocks: Some(4), ..Typed::default() };
/// let wish = wish(Design::Blocks, &typed).unwrap();
/// assert_eq!(plan(&wish, Unit::Batch, 1).unwrap().runs.len(), 8);
/// ```
///
/// # Errors
/// The first field that can't be read.
pub fn wish(design: Design, typed: &Typed) -> Result<Request, WishError> {
    let treatments = || {
        let names: Vec<String> = typed
            .treatments
            .iter()
            .map(|t| t.trim().to_owned())
            .collect();
        if names.is_empty() {
            let how = "name the treatments, the control first, e.g. control, barley, rice";
            return Err(wrong(Field::Treatments, "", how));
        }
        Ok(names)
    };
    let replicates = typed.replicates.unwrap_or(3);
    let block_name = || {
        typed
            .block_name
            .clone()
            .unwrap_or_else(|| "bake day".into())
    };
    let blocks = || {
        let count = typed.blocks.unwrap_or(3);
        if count > MOST_BLOCKS {
            let most = format!(
                "at most {MOST_BLOCKS} are allowed; split the question into several trials"
            );
            return Err(wrong(Field::Blocks, count.to_string(), most));
        }
        Ok((1..=count).map(|i| i.to_string()).collect())
    };
    let named = || {
        let read = |f: &String| read_named(Field::Factor, f);
        typed.factor.iter().map(read).collect::<Result<Vec<_>, _>>()
    };
    let numbers = || {
        typed
            .factor
            .iter()
            .map(|f| number(f))
            .collect::<Result<Vec<_>, _>>()
    };
    let parts = || {
        typed
            .part
            .iter()
            .map(|p| part(p))
            .collect::<Result<Vec<_>, _>>()
    };
    let split = |parts: Vec<Component>| -> (Vec<String>, Vec<f64>) {
        parts.into_iter().map(|p| (p.name, p.low)).unzip()
    };
    Ok(match design {
        Design::CompletelyRandomised => Request::CompletelyRandomised(CompletelyRandomised {
            treatments: treatments()?,
            replicates,
        }),
        Design::Blocks => Request::Blocks(Blocks {
            treatments: treatments()?,
            block_name: block_name(),
            blocks: blocks()?,
            per_block: typed.per_block.unwrap_or(1),
        }),
        Design::LatinSquare => Request::LatinSquare(LatinSquare {
            treatments: treatments()?,
            row_name: typed.row_name.clone().unwrap_or_else(|| "bake day".into()),
            column_name: typed
                .column_name
                .clone()
                .unwrap_or_else(|| "place in the day".into()),
            squares: typed.squares.unwrap_or(1),
        }),
        Design::Williams => Request::Williams(Williams {
            foods: treatments()?,
            dogs: typed.dogs.unwrap_or(12),
        }),
        Design::Factorial => Request::Factorial(Factorial {
            factors: named()?,
            replicates,
            block_name: typed.block_name.clone(),
        }),
        Design::Fractional => Request::Fractional(Fractional {
            factors: named()?,
            drop: typed.drop.unwrap_or(typed.generator.len().max(1)),
            generators: typed.generator.clone(),
            replicates: typed.replicates.unwrap_or(1),
        }),
        Design::Augmented => Request::Augmented(Augmented {
            factors: named()?,
            control: typed.control.clone().unwrap_or_else(|| "control".into()),
            controls_per_replicate: typed.controls.unwrap_or(1),
            replicates,
            block_name: typed.block_name.clone(),
        }),
        Design::SplitPlot => {
            let whole = typed.whole_plot.as_deref().ok_or_else(|| {
                let how = "name what is hard to change with its levels, e.g. oven=150 °C,170 °C";
                wrong(Field::WholePlot, "", how)
            })?;
            let mut sub = named()?;
            if sub.len() != 1 {
                let how = "a split plot takes one factor within its whole plots, e.g. formula=control,barley";
                return Err(wrong(Field::Factor, "", how));
            }
            Request::SplitPlot(SplitPlot {
                whole: read_named(Field::WholePlot, whole)?,
                sub: sub.remove(0),
                block_name: block_name(),
                blocks: blocks()?,
            })
        }
        Design::CentralComposite => Request::CentralComposite(CentralComposite {
            factors: numbers()?,
            reach: reach(typed.reach.as_deref())?,
            centre_points: typed.centre.unwrap_or(6),
        }),
        Design::BoxBehnken => Request::BoxBehnken(BoxBehnken {
            factors: numbers()?,
            centre_points: typed.centre.unwrap_or(3),
        }),
        Design::SimplexLattice => {
            let (components, least) = split(parts()?);
            Request::SimplexLattice(SimplexLattice {
                components,
                least,
                steps: typed.steps.unwrap_or(2),
                replicates: typed.replicates.unwrap_or(2),
            })
        }
        Design::SimplexCentroid => {
            let (components, least) = split(parts()?);
            Request::SimplexCentroid(SimplexCentroid {
                components,
                least,
                replicates: typed.replicates.unwrap_or(2),
            })
        }
        Design::ConstrainedMixture => Request::ConstrainedMixture(ConstrainedMixture {
            components: parts()?,
            process: numbers()?,
            degree: degree(typed.degree.as_deref())?,
            runs: typed.runs.unwrap_or(16),
            starts: typed.starts.unwrap_or(200),
        }),
    })
}

/// `flour=barley,rice`
fn read_named(field: Field, text: &str) -> Result<Named, WishError> {
    let (name, levels) = text.split_once('=').ok_or_else(|| {
        wrong(
            field,
            text,
            "write the name and its levels, e.g. flour=barley,rice",
        )
    })?;
    Ok(Named {
        name: name.trim().to_owned(),
        levels: levels.split(',').map(|l| l.trim().to_owned()).collect(),
    })
}

/// `bake time:min=18..30`
fn number(text: &str) -> Result<Factor, WishError> {
    let wrong = || {
        let how = "write name, unit, low and high end, e.g. bake time:min=18..30";
        wrong(Field::Factor, text, how)
    };
    let (name, range) = text.split_once('=').ok_or_else(wrong)?;
    let (name, unit) = name.split_once(':').unwrap_or((name, ""));
    let (low, high) = range.split_once("..").ok_or_else(wrong)?;
    let end = |x: &str| x.trim().parse::<f64>().map_err(|_| wrong());
    Ok(Factor {
        name: name.trim().to_owned(),
        unit: unit.trim().to_owned(),
        low: end(low)?,
        high: end(high)?,
        allowed: None,
    })
}

/// `barley flour=0.05..0.30`, or a name alone for the whole range.
fn part(text: &str) -> Result<Component, WishError> {
    let wrong = || {
        let how = "write the name with least and most as fractions, e.g. barley flour=0.05..0.30";
        wrong(Field::Part, text, how)
    };
    let (name, range) = text.split_once('=').unwrap_or((text, "0..1"));
    let (low, high) = range.split_once("..").ok_or_else(wrong)?;
    let end = |x: &str, open: f64| match x.trim() {
        "" => Ok(open),
        x => x.parse::<f64>().map_err(|_| wrong()),
    };
    Ok(Component {
        name: name.trim().to_owned(),
        low: end(low, 0.0)?,
        high: end(high, 1.0)?,
    })
}

fn reach(text: Option<&str>) -> Result<Reach, WishError> {
    Ok(match text {
        None | Some("rotatable") => Reach::Rotatable,
        Some("spherical") => Reach::Spherical,
        Some("face") => Reach::Face,
        Some(x) => Reach::At(x.parse().map_err(|_| {
            let how = "allowed are rotatable, spherical, face or a number";
            wrong(Field::Reach, x, how)
        })?),
    })
}

fn degree(text: Option<&str>) -> Result<Degree, WishError> {
    Ok(match text {
        None | Some("quadratic") => Degree::Quadratic,
        Some("linear") => Degree::Linear,
        Some("interaction") => Degree::Interaction,
        Some("special-cubic") => Degree::SpecialCubic,
        Some(x) => {
            let how = "allowed are linear, interaction, quadratic and special-cubic";
            return Err(wrong(Field::Degree, x, how));
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_and_parts_are_read_as_written() {
        let f = number("bake time:min=18..30").unwrap();
        assert_eq!((f.name.as_str(), f.unit.as_str()), ("bake time", "min"));
        assert_eq!((f.low, f.high), (18.0, 30.0));
        assert_eq!(number("shift=-3..3").unwrap().low, -3.0);
        assert!(number("time=18-30").is_err());
        assert_eq!(part("rice").unwrap().high, 1.0);
        assert_eq!(part("rice=0.1..").unwrap().low, 0.1);
        let named = read_named(Field::Factor, "flour=a, b").unwrap();
        assert_eq!(named.levels, ["a", "b"]);
    }

    #[test]
    fn every_design_says_what_is_missing_and_where() {
        for design in Design::ALL {
            let odd = Typed {
                factor: vec!["no equals sign".into()],
                part: vec!["x=y".into()],
                blocks: Some(100_000),
                ..Typed::default()
            };
            let told = wish(design, &odd).unwrap_err();
            assert!(takes(design).contains(&told.field), "{design:?}");
            assert!(told.to_string().contains(told.field.word()));
        }
        for (i, field) in Field::ALL.iter().enumerate() {
            assert!(Field::ALL[..i].iter().all(|f| f.word() != field.word()));
            assert!(
                Design::ALL.iter().any(|d| takes(*d).contains(field)),
                "{field:?}"
            );
        }
    }
}
