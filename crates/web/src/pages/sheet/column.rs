//! A treatment as it stands in the sheet: its amounts on the chosen basis, and the way back from a
//! typed amount to the one that is written.

use formula::{Change, Material, Stage};
use report::Per;
use std::collections::BTreeMap;
use std::sync::Arc;
use study::model::{Basis, WaterChoice};
use study::written::tables::TreatmentRow;
use study::{Compared, Study, Treatment};

/// Amounts by material.
pub type Amounts = Vec<(String, f64)>;

/// How far flours may miss 100 when all of them are typed, points: rounded figures.
const ROUNDED: f64 = 0.5;

/// One line as it is made.
pub struct Line {
    pub stage: Stage,
    pub material: Arc<Material>,
    /// Amount on the formula's own scale, the water of the need included.
    pub parts: f64,
    pub is_flour: bool,
}

/// A treatment as it stands in the sheet.
pub struct Column<'a> {
    pub treatment: &'a Treatment,
    /// Its answer; none when it has none, and then why.
    pub compared: Option<&'a Compared>,
    pub failed: Option<&'a str>,
    pub lines: Vec<Line>,
    /// Whether its formula is written in full and not as changes of another's.
    pub full: bool,
    /// What its amounts are written on.
    pub basis: Basis,
    /// Whether its lines don't sum to 100 yet.
    pub off: bool,
    /// The dry mix is written alone, and the water of the need comes on top.
    on_top: bool,
    need: bool,
    water_per_dry: f64,
}

impl<'a> Column<'a> {
    pub fn new(study: &'a Study, treatment: &'a Treatment, view: &'a app::StudyView) -> Self {
        let answers = &view.answers;
        let compared = answers
            .compared
            .iter()
            .find(|c| c.answer.id == treatment.id);
        let failed = answers
            .failed
            .iter()
            .find(|f| f.id == treatment.id)
            .map(|f| f.why.as_str());
        let written = view.written.treatment(&treatment.id);
        let full = written.is_none_or(|row| !row.has(TreatmentRow::from.name));
        // While the sum is off, the study is worked out in parts; what was written tells the basis.
        let basis = written
            .filter(|_| full)
            .and_then(|row| row.get(TreatmentRow::percent_of))
            .unwrap_or(if full { Basis::Mix } else { treatment.basis });
        let need = treatment.water == WaterChoice::FromNeed;
        let has_water = treatment
            .formula
            .lines()
            .iter()
            .any(|l| l.material.is_water());
        let water = compared.map(|c| c.answer.dough.water_added_kg_per_100kg_dry_mix);
        let made = water
            .filter(|_| need)
            .and_then(|w| treatment.formula.with_water(w).ok());
        let formula = made.as_ref().unwrap_or(&treatment.formula);
        let lines = formula.lines().iter().map(|l| Line {
            stage: l.stage,
            material: Arc::clone(&l.material),
            parts: l.parts,
            is_flour: l.is_flour,
        });
        debug_assert!(study.treatment(&treatment.id).is_some());
        Self {
            treatment,
            compared,
            failed,
            lines: lines.collect(),
            full,
            basis,
            off: view.in_proportion.contains(&treatment.id),
            on_top: need && !has_water,
            need,
            water_per_dry: formula.water_kg_per_100kg_dry_mix() / 100.0,
        }
    }

    pub fn id(&self) -> &'a str {
        &self.treatment.id
    }

    pub fn name(&self) -> &'a str {
        &self.treatment.name
    }

    /// Whether the water follows the need.
    pub fn follows_need(&self) -> bool {
        self.need
    }

    /// Takes another need, where it is known better, kg per 100 kg dry mix.
    pub fn needs(&mut self, water: f64) {
        if self.need {
            self.water_per_dry = water / 100.0;
        }
    }

    /// Water per 100 of everything else, as made.
    pub fn water_per_100(&self) -> f64 {
        100.0 * self.water_per_dry
    }

    pub fn line(&self, stage: Stage, id: &str) -> Option<&Line> {
        self.lines
            .iter()
            .find(|l| l.stage == stage && l.material.id == id)
    }

    /// Whether an amount was set in this treatment; else it follows the treatment that this one starts from.
    pub fn own(&self, material: &Material) -> bool {
        let named = |change: &Change| match change {
            Change::Swap { out, with, .. } => *out == material.id || with.id == material.id,
            Change::Set { material: id, .. } | Change::Remove { material: id } => {
                *id == material.id
            }
            Change::Add {
                material: added, ..
            } => added.id == material.id,
            Change::ScaleWater { .. } => material.is_water(),
        };
        self.full || self.treatment.changes.iter().any(named)
    }

    /// Whether a material stands at more than one stage.
    pub fn twice(&self, id: &str) -> bool {
        self.lines.iter().filter(|l| l.material.id == id).count() > 1
    }

    /// How a line counts: in its own amount, and in the whole.
    fn weight(&self, per: Per, material: &Material, is_flour: bool) -> (f64, f64) {
        let dry = 1.0 - material.moisture().map_or(0.0, |m| m.0);
        match per {
            Per::Mix if self.need && material.is_water() => (1.0, 0.0),
            Per::Mix if self.need => (1.0, 1.0 + self.water_per_dry),
            Per::Mix => (1.0, 1.0),
            Per::Flour => (1.0, if is_flour { 1.0 } else { 0.0 }),
            Per::DryMatter => (dry, dry),
        }
    }

    /// What makes 100, on the formula's scale, and whether it stays whatever is typed.
    fn whole(&self, per: Per) -> (f64, bool) {
        match (per, self.basis) {
            (Per::Mix, Basis::Mix) if self.full && !self.need => (100.0, true),
            (Per::Mix, Basis::Mix) if self.full && self.on_top => {
                (100.0 * (1.0 + self.water_per_dry), true)
            }
            (Per::Flour, Basis::Flour) if self.full => (100.0, true),
            _ => {
                let counted = |l: &Line| l.parts * self.weight(per, &l.material, l.is_flour).1;
                (self.lines.iter().map(counted).sum(), false)
            }
        }
    }

    /// A line's amount on a basis; none where the basis has no meaning for the formula.
    pub fn amount(&self, per: Per, line: &Line) -> Option<f64> {
        let (whole, _) = self.whole(per);
        let own = self.weight(per, &line.material, line.is_flour).0;
        (whole > 0.0).then(|| 100.0 * line.parts * own / whole)
    }

    /// The sum of all lines on a basis.
    pub fn sum(&self, per: Per) -> Option<f64> {
        self.lines.iter().map(|l| self.amount(per, l)).sum()
    }

    /// The water need on a basis: mean and limits; none for dry matter, of which water has none.
    pub fn need_on(&self, per: Per) -> Option<(f64, f64, f64)> {
        let need = self.compared?.answer.dough.water_need;
        let dry: f64 = self
            .lines
            .iter()
            .filter(|l| !l.material.is_water())
            .map(|l| l.parts)
            .sum();
        let (whole, _) = self.whole(Per::Flour);
        let on = |kg: f64| match per {
            Per::Mix => Some(100.0 * kg / (100.0 + kg)),
            Per::Flour => (whole > 0.0).then(|| kg * dry / whole),
            Per::DryMatter => None,
        };
        Some((on(need.mean)?, on(need.low95)?, on(need.high95)?))
    }

    /// From amounts typed on a basis to the amounts that edits write, by material, all at once. On the whole mix and on
    /// dry matter the other lines keep what they have and the balance, if there is one, takes up the rest. Per cent of
    /// flour see [`Self::on_flour`].
    ///
    /// With the whole D = D₀ + Σ dⱼ·xⱼ and a typed vⱼ = 100·aⱼ·xⱼ/D, the amounts are
    /// xⱼ = vⱼ·D/(100·aⱼ) with D = D₀/(1 − Σ dⱼ·vⱼ/(100·aⱼ)).
    pub fn written(&self, per: Per, typed: &[(Arc<Material>, f64)]) -> Result<Amounts, String> {
        if per == Per::Flour
            && let Some(amounts) = self.on_flour(typed)?
        {
            return Ok(amounts);
        }
        let (whole, fixed) = self.whole(per);
        let balance = self.treatment.formula.balance();
        let balance = self
            .lines
            .iter()
            .find(|l| Some(l.material.id.as_str()) == balance);
        let through_balance = balance
            .filter(|l| !(self.need && l.material.is_water()))
            .map_or(0.0, |l| self.weight(per, &l.material, l.is_flour).1);
        let (mut rest, mut share) = (whole, 0.0);
        let mut own = Vec::with_capacity(typed.len());
        for (material, value) in typed {
            let line = self.lines.iter().find(|l| l.material.id == material.id);
            let is_flour = line.map_or(material.category.usually_flour(), |l| l.is_flour);
            let (counts, in_whole) = self.weight(per, material, is_flour);
            if counts <= 0.0 {
                return Err(format!(
                    "{} has no dry matter; change it per cent of mix",
                    material.name
                ));
            }
            own.push(counts);
            if !fixed {
                let each = in_whole - through_balance;
                rest -= each * line.map_or(0.0, |l| l.parts);
                share += each * value / (100.0 * counts);
            }
        }
        if whole <= 0.0 || share >= 1.0 || rest <= 0.0 {
            let words = per.words();
            return Err(format!(
                "the other lines leave no room for that much {words}; it has to stay under 100"
            ));
        }
        let whole = if fixed { whole } else { rest / (1.0 - share) };
        let parts = typed
            .iter()
            .zip(&own)
            .map(|((_, v), a)| v * whole / (100.0 * a));
        let parts: Vec<f64> = parts.collect();
        let amounts = self.on_written_basis(typed, &parts).into_iter().map(tidy);
        let names = typed.iter().map(|(m, _)| m.id.clone());
        Ok(names.zip(amounts).collect())
    }

    /// Shares of flour as typed: the flours make 100 and everything else keeps its share of them, so that nothing but
    /// flours moves when a flour is typed, and nothing but the total when another line is. None where only the lines
    /// that were typed have to be written.
    fn on_flour(&self, typed: &[(Arc<Material>, f64)]) -> Result<Option<Amounts>, String> {
        let formula = &self.treatment.formula;
        let lines = formula.lines();
        let flour: f64 = lines.iter().filter(|l| l.is_flour).map(|l| l.parts).sum();
        let value = |id: &str| typed.iter().find(|(m, _)| m.id == id).map(|(_, v)| *v);
        let is_flour = |m: &Material| {
            let line = lines.iter().find(|l| l.material.id == m.id);
            line.map_or(m.category.usually_flour(), |l| l.is_flour)
        };
        let balance = formula.balance();
        let flour_balance =
            balance.is_some_and(|id| lines.iter().any(|l| l.material.id == id && l.is_flour));
        let typed_flour = || typed.iter().filter(|(m, _)| is_flour(m));
        // A balance among the flours takes the rest of them by itself.
        let rest_by_itself =
            self.basis == Basis::Flour && (flour_balance || typed_flour().next().is_none());
        let stays = !self.full && typed_flour().next().is_none();
        if flour <= 0.0
            || rest_by_itself
            || stays
            || lines.iter().any(|l| self.twice(&l.material.id))
        {
            return Ok(None);
        }
        let of_flour = |parts: f64| 100.0 * parts / flour;
        let typed_sum: f64 = typed_flour().map(|(_, v)| v).sum();
        let others: f64 = lines
            .iter()
            .filter(|l| l.is_flour && value(&l.material.id).is_none())
            .map(|l| of_flour(l.parts))
            .sum();
        let scale = if typed_flour().next().is_none() {
            1.0
        } else if others > 0.0 {
            (100.0 - typed_sum) / others
        } else if (typed_sum - 100.0).abs() <= ROUNDED {
            1.0
        } else if self.full && self.basis == Basis::Flour {
            return Ok(None);
        } else {
            return Err(format!(
                "the flours come to {typed_sum} per cent of flour; they have to make 100"
            ));
        };
        if scale <= 0.0 {
            return Err(
                "the other flours have to have some of the flour; this has to stay under 100"
                    .to_owned(),
            );
        }
        // Shares of flour as they are to be, the new lines last.
        let mut shares: Vec<(&str, bool, f64)> = lines
            .iter()
            .map(|l| {
                let id = l.material.id.as_str();
                let kept = of_flour(l.parts) * if l.is_flour { scale } else { 1.0 };
                (id, l.is_flour, value(id).unwrap_or(kept))
            })
            .collect();
        let new = typed
            .iter()
            .filter(|(m, _)| lines.iter().all(|l| l.material.id != m.id));
        shares.extend(new.map(|(m, v)| (m.id.as_str(), is_flour(m), *v)));
        Ok(Some(self.of_shares(&shares, flour, typed)))
    }

    /// The amounts that write shares of flour, those that stay as they are left out.
    fn of_shares(
        &self,
        shares: &[(&str, bool, f64)],
        flour: f64,
        typed: &[(Arc<Material>, f64)],
    ) -> Amounts {
        let formula = &self.treatment.formula;
        let total: f64 = shares.iter().map(|(_, _, share)| share).sum();
        let dry = || {
            let dry = shares.iter().filter(|(id, _, _)| {
                !formula
                    .lines()
                    .iter()
                    .any(|l| l.material.id == *id && l.material.is_water())
            });
            dry.map(|(_, _, share)| share).sum::<f64>()
        };
        let sum: f64 = formula.lines().iter().map(|l| l.parts).sum();
        // What an amount is of one per cent of flour.
        let each = match self.basis {
            Basis::Mix if self.full => 100.0 / total,
            Basis::DryMix if self.full => 100.0 / dry(),
            Basis::Mix => flour / sum,
            Basis::Flour => 1.0,
            Basis::DryMix | Basis::Parts => flour / 100.0,
        };
        let only_flour = !self.full || matches!(self.basis, Basis::Flour | Basis::Parts);
        let is_typed = |id: &str| typed.iter().any(|(m, _)| m.id == id);
        let written = shares.iter().filter(|(id, is_flour, _)| {
            formula.balance() != Some(*id) && (!only_flour || *is_flour || is_typed(id))
        });
        if self.full
            || formula.balance().is_some()
            || matches!(self.basis, Basis::DryMix | Basis::Parts)
        {
            return written
                .map(|(id, _, share)| ((*id).to_owned(), tidy(share * each)))
                .collect();
        }
        // Each change is told per cent of what is there once it is made.
        let mut there: BTreeMap<&str, (bool, f64)> = BTreeMap::new();
        for line in formula.lines() {
            there.insert(&line.material.id, (line.is_flour, line.parts));
        }
        let mut amounts = Amounts::new();
        for (id, is_flour, share) in written {
            let parts = share * flour / 100.0;
            let counts = |of_flour: bool| self.basis == Basis::Mix || of_flour;
            let others = there
                .iter()
                .filter(|(other, (of_flour, _))| **other != *id && counts(*of_flour));
            let others: f64 = others.map(|(_, (_, parts))| parts).sum();
            let whole = others + if counts(*is_flour) { parts } else { 0.0 };
            amounts.push(((*id).to_owned(), tidy(100.0 * parts / whole)));
            there.insert(id, (*is_flour, parts));
        }
        amounts
    }

    /// Amounts of a formula in full are on its own scale; a change of another's formula is told
    /// per cent of what is there after the change.
    fn on_written_basis(&self, typed: &[(Arc<Material>, f64)], parts: &[f64]) -> Vec<f64> {
        if self.full {
            return parts.to_vec();
        }
        let balance = self.treatment.formula.balance();
        let lines = self.treatment.formula.lines();
        let typed_one = |id: &str| typed.iter().position(|(m, _)| m.id == id);
        let before: f64 = lines.iter().map(|l| l.parts).sum();
        let kept = |counts: &dyn Fn(&formula::Line) -> bool| -> f64 {
            let kept = lines
                .iter()
                .filter(|l| counts(l) && typed_one(&l.material.id).is_none());
            kept.map(|l| l.parts).sum()
        };
        let flour = |id: usize| {
            let (material, _) = &typed[id];
            let line = lines.iter().find(|l| l.material.id == material.id);
            line.map_or(material.category.usually_flour(), |l| l.is_flour)
        };
        let whole = match self.basis {
            Basis::Mix if balance.is_some() => before,
            Basis::Mix => kept(&|_| true) + parts.iter().sum::<f64>(),
            Basis::Flour => {
                let typed: f64 = (0..parts.len())
                    .filter(|i| flour(*i))
                    .map(|i| parts[i])
                    .sum();
                kept(&|l| l.is_flour) + typed
            }
            Basis::DryMix | Basis::Parts => 100.0,
        };
        parts.iter().map(|x| 100.0 * x / whole).collect()
    }
}

/// Six decimals: far below what any scale shows, without the dust of the arithmetic.
fn tidy(n: f64) -> f64 {
    (n * 1e6).round() / 1e6
}
