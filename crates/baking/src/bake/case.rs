//! The model case: a bake given directly by the model's parameters, so that any other solver can be
//! compared with this one; and its answer in the same terms.
//!
//! Keys of `params`: L \[m\], X0, T0 \[K\], rho_s \[kg/m³\], c_s, c_w \[J/(kg K)\], k0, k1 \[W/(m K)\]
//! (k = k0 + k1 X), D0 \[m²/s\], Ea \[J/mol\], Tref \[K\], bX, phitau, kappa \[m²\], DK \[m²/s\], delta,
//! isoA, isoB, isoT (ln(100 X) = isoA − isoT θ + isoB logit a_w), eps, lam0, lam1 (λ = lam0 − lam1 θ).
//! Stages: dur \[s\], Ta, Tr, Tb \[K\], pa \[Pa\], hc, hb \[W/(m² K)\], open, km (1 vapour passes, 0 closed).
//! Optional among them: Xc \[kg/kg\] and nX (1): D_l falls by 1 − exp(−(max(X, 0)/Xc)^nX); 0, or left out, is no fall.
//! Optional: `name`, `cells` (40), `accuracy` (`tight`, or `quick`, or a tolerance), `output_times` \[s\].

use super::closures::{
    Closures, Conductivity, DryEnd, LatentHeat, LiquidDiffusivity, SaturationPressure,
    VapourTransport,
};
use super::error::InputError;
use super::input::{Accuracy, BakeInput, Stage, StageKind};
use super::isotherm::Isotherm;
use super::result::{Ask, AskedTimes, BakeResult};
use measure::temperature::celsius;
use measure::{Constant, DryBasis, Grade, Range};
use serde::{Deserialize, Serialize};

/// The written form of a case; unknown and missing keys are refused by name.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CaseFile {
    /// Name, if any.
    #[serde(default)]
    pub name: String,
    /// Parameters.
    pub params: CaseParams,
    /// Stages in order.
    pub stages: Vec<CaseStage>,
    /// Cells over the thickness.
    #[serde(default = "usual_cells")]
    pub cells: usize,
    /// Accuracy.
    #[serde(default)]
    pub accuracy: CaseAccuracy,
    /// Times of the history \[s\]; every step when left out.
    #[serde(default)]
    pub output_times: Option<Vec<f64>>,
}

fn usual_cells() -> usize {
    40
}

/// The written forms of an accuracy.
#[derive(Clone, Debug, Deserialize)]
#[serde(
    untagged,
    expecting = "`accuracy` must be \"tight\", \"quick\" or a tolerance such as 1e-4"
)]
pub enum CaseAccuracy {
    /// A named one.
    Named(NamedAccuracy),
    /// A tolerance.
    Tolerance(f64),
}

/// The accuracies with a name.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NamedAccuracy {
    /// For verification.
    Tight,
    /// For the knock-on.
    Quick,
}

impl Default for CaseAccuracy {
    fn default() -> Self {
        Self::Named(NamedAccuracy::Tight)
    }
}

/// The parameters of a case; see the module's text.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(
    missing_docs,
    reason = "the keys are listed with their units in the module's text"
)]
#[allow(non_snake_case)]
pub struct CaseParams {
    pub L: f64,
    pub X0: f64,
    pub T0: f64,
    pub rho_s: f64,
    pub c_s: f64,
    pub c_w: f64,
    pub k0: f64,
    pub k1: f64,
    pub D0: f64,
    pub Ea: f64,
    pub Tref: f64,
    pub bX: f64,
    pub phitau: f64,
    pub kappa: f64,
    pub DK: f64,
    pub delta: f64,
    pub isoA: f64,
    pub isoB: f64,
    pub isoT: f64,
    pub eps: f64,
    pub lam0: f64,
    pub lam1: f64,
    #[serde(default)]
    pub Xc: f64,
    #[serde(default = "one")]
    pub nX: f64,
}

fn one() -> f64 {
    1.0
}

/// A stage of a case; see the module's text.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(
    missing_docs,
    reason = "the keys are listed with their units in the module's text"
)]
#[allow(non_snake_case)]
pub struct CaseStage {
    pub dur: f64,
    pub Ta: f64,
    pub Tr: f64,
    pub Tb: f64,
    pub pa: f64,
    pub hc: f64,
    pub hb: f64,
    pub open: f64,
    pub km: f64,
}

/// A case ready to bake.
#[derive(Clone, Debug)]
pub struct Case {
    /// The bake.
    pub input: BakeInput,
    /// What is asked for.
    pub ask: Ask,
}

impl CaseFile {
    /// Turns the written form into a bake, checked.
    ///
    /// # Errors
    /// The first value outside what is allowed, by the name of its key.
    pub fn read(self) -> Result<Case, InputError> {
        let p = self.params;
        if !(p.isoB > 0.0 && p.isoB <= 10.0) {
            return Err(InputError::new(
                "params.isoB",
                p.isoB,
                "above 0, at most 10",
            ));
        }
        let input = BakeInput {
            thickness_m: p.L,
            initial_moisture: DryBasis(p.X0),
            initial_temperature_k: p.T0,
            dry_solid_kg_per_m3: p.rho_s,
            closures: Closures {
                solid_heat_capacity_j_per_kg_k: p.c_s,
                water_heat_capacity_j_per_kg_k: p.c_w,
                conductivity: Conductivity {
                    floor_w_per_m_k: 1e-4,
                    ..Conductivity::linear(p.k0, p.k1)
                },
                saturation: SaturationPressure::SIMPLE,
                latent_heat: LatentHeat {
                    l: [p.lam0, -p.lam1, 0.0],
                },
                isotherm: Isotherm::oswin(p.isoA, p.isoB, p.isoT),
                liquid: LiquidDiffusivity {
                    d0_m2_per_s: p.D0,
                    activation_j_per_mol: p.Ea,
                    reference_k: p.Tref,
                    moisture_exponent: p.bX,
                    dry_end: DryEnd::of(p.Xc, p.nX),
                },
                vapour: VapourTransport {
                    porosity_over_tortuosity: p.phitau,
                    permeability_m2: p.kappa,
                    knudsen_m2_per_s: p.DK,
                    smoothing: p.delta,
                },
                emissivity: p.eps,
                plain_dough: false,
            },
            edge: None,
            stages: self.stages.iter().enumerate().map(stage).collect(),
            cells: self.cells,
            accuracy: match self.accuracy {
                CaseAccuracy::Named(NamedAccuracy::Tight) => Accuracy::Tight,
                CaseAccuracy::Named(NamedAccuracy::Quick) => Accuracy::Quick,
                CaseAccuracy::Tolerance(t) => Accuracy::Tolerance(t),
            },
        };
        input.check().map_err(in_keys)?;
        Ok(Case {
            input,
            ask: Ask {
                history: self
                    .output_times
                    .map_or(AskedTimes::EveryStep, AskedTimes::At),
                profile_times_s: Vec::new(),
                ..Ask::default()
            },
        })
    }
}

/// Cooler air than this is taken as cooling, not oven \[K\].
const COOLING_BELOW_K: Constant = Constant {
    name: "air cooler than this is taken as cooling, not oven",
    value: 323.15,
    unit: "K",
    range: Range::new(303.15, 343.15),
    source: "working rule, no source",
    grade: Grade::Assumed,
};

fn stage((index, s): (usize, &CaseStage)) -> Stage {
    let kind = if s.km == 0.0 {
        StageKind::Pack
    } else if s.Ta < COOLING_BELOW_K.value {
        StageKind::Cooling
    } else {
        StageKind::Oven
    };
    Stage {
        name: format!("{} {}", kind.word(), index + 1),
        kind,
        duration_s: s.dur,
        air_k: s.Ta,
        radiating_k: s.Tr,
        band_k: s.Tb,
        air_vapour_pa: s.pa,
        top_w_per_m2_k: s.hc,
        bottom_w_per_m2_k: s.hb,
        band_open: s.open,
        vapour_exchange: s.km,
    }
}

/// Adds the key of the case to the field of an error.
fn in_keys(mut error: InputError) -> InputError {
    const KEYS: [(&str, &str); 31] = [
        ("thickness_m", "params.L"),
        ("initial_moisture", "params.X0"),
        ("initial_temperature_k", "params.T0"),
        ("dry_solid_kg_per_m3", "params.rho_s"),
        ("solid_heat_capacity_j_per_kg_k", "params.c_s"),
        ("water_heat_capacity_j_per_kg_k", "params.c_w"),
        ("conductivity.a", "params.k0 or k1"),
        ("latent heat at 0 and 200 °C", "params.lam0 and lam1 give"),
        ("liquid.d0_m2_per_s", "params.D0"),
        ("liquid.activation_j_per_mol", "params.Ea"),
        ("liquid.reference_k", "params.Tref"),
        ("liquid.moisture_exponent", "params.bX"),
        ("liquid.dry_end.moisture", "params.Xc"),
        ("liquid.dry_end.power", "params.nX"),
        ("vapour.porosity_over_tortuosity", "params.phitau"),
        ("vapour.permeability_m2", "params.kappa"),
        ("vapour.knudsen_m2_per_s", "params.DK"),
        ("vapour.smoothing", "params.delta"),
        ("isotherm.per_kelvin", "params.isoT/isoB"),
        (
            "isotherm: a_w at X 0.1 and 25 °C",
            "params.isoA, isoB, isoT give a_w which at X 0.1 and 25 °C",
        ),
        ("emissivity", "params.eps"),
        ("duration_s", "dur"),
        ("air_k", "Ta"),
        ("radiating_k", "Tr"),
        ("band_k", "Tb"),
        ("air_vapour_pa", "pa"),
        ("top_w_per_m2_k", "hc"),
        ("bottom_w_per_m2_k", "hb"),
        ("band_open", "open"),
        ("vapour_exchange", "km"),
        ("accuracy", "accuracy"),
    ];
    for (field, key) in KEYS {
        if error.field == field {
            error.field = key.into();
            break;
        }
        if let Some(place) = error.field.strip_suffix(&format!(": {field}")) {
            error.field = format!("{place}: {key}").into();
            break;
        }
    }
    error
}

/// The written answer of a case; the arrays are equally long.
#[derive(Clone, Debug, Serialize)]
#[expect(missing_docs, reason = "the names carry the quantity and the unit")]
#[allow(non_snake_case)]
pub struct CaseOutput {
    pub t_s: Vec<f64>,
    pub X_mean: Vec<f64>,
    pub T_top_C: Vec<f64>,
    pub T_mid_C: Vec<f64>,
    pub T_bottom_C: Vec<f64>,
    pub X_top: Vec<f64>,
    pub X_mid: Vec<f64>,
    pub X_bottom: Vec<f64>,
    pub water_out_kg_m2: Vec<f64>,
    pub enthalpy_in_net_J_m2: Vec<f64>,
    pub work: CaseWork,
    pub account: CaseAccount,
}

/// Work done.
#[derive(Clone, Copy, Debug, Serialize)]
#[expect(missing_docs, reason = "the names say it")]
pub struct CaseWork {
    pub steps: usize,
    pub rejected: usize,
    pub jacobians: usize,
    pub rhs: usize,
}

/// How well water and energy close.
#[derive(Clone, Copy, Debug, Serialize)]
#[expect(missing_docs, reason = "the names say it")]
pub struct CaseAccount {
    pub water_rel_error: f64,
    pub energy_rel_error: f64,
}

/// Writes the answer of a case.
pub fn output(result: &BakeResult) -> CaseOutput {
    let h = &result.history;
    let degrees = |k: &[f64]| k.iter().map(|k| celsius(*k)).collect();
    let (work, account) = (result.work, result.account);
    CaseOutput {
        t_s: h.time_s.clone(),
        X_mean: h.mean_moisture.clone(),
        T_top_C: degrees(&h.top_k),
        T_mid_C: degrees(&h.centre_k),
        T_bottom_C: degrees(&h.bottom_k),
        X_top: h.top_moisture.clone(),
        X_mid: h.centre_moisture.clone(),
        X_bottom: h.bottom_moisture.clone(),
        water_out_kg_m2: h.water_out_kg_per_m2.clone(),
        enthalpy_in_net_J_m2: h.enthalpy_in_j_per_m2.clone(),
        work: CaseWork {
            steps: work.steps,
            rejected: work.rejected,
            jacobians: work.jacobians,
            rhs: work.rhs,
        },
        account: CaseAccount {
            water_rel_error: account.water_rel_error,
            energy_rel_error: account.energy_rel_error,
        },
    }
}

/// The cases the bake is verified and timed with. They are ours, invented and marked so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Benchmark {
    /// 8 mm on a closed steel band, three zones, 1056 s.
    SteelBand,
    /// 12 mm on a half-open mesh, an open crumb.
    Mesh,
    /// 5 mm, hot, a tight crumb, 369 s.
    ThinHot,
}

impl Benchmark {
    /// Every benchmark.
    pub const ALL: [Self; 3] = [Self::SteelBand, Self::Mesh, Self::ThinHot];

    /// A short name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::SteelBand => "steel band 8 mm",
            Self::Mesh => "half-open mesh 12 mm",
            Self::ThinHot => "thin hot 5 mm",
        }
    }

    /// The case: three oven zones, 900 s cooling, 7 days in the pack; 40 cells, tight.
    pub fn case(self) -> Case {
        // dur, Ta, Tr, Tb in °C, pa, hc, hb
        let (p, zones, open) = match self {
            Self::SteelBand => (
                params(0.008, 0.45, 850.0, 3e-10, 0.10, 5e-14),
                [
                    [
                        240.0,
                        180.0,
                        190.0,
                        150.0,
                        14_034.322_280_395_58,
                        20.0,
                        80.0,
                    ],
                    [
                        360.0,
                        210.0,
                        220.0,
                        180.0,
                        16_387.234_157_254_912,
                        25.0,
                        80.0,
                    ],
                    [
                        456.0,
                        200.0,
                        205.0,
                        175.0,
                        8_914.484_295_727_147,
                        25.0,
                        80.0,
                    ],
                ],
                0.0,
            ),
            Self::Mesh => (
                params(0.012, 0.50, 750.0, 3e-10, 0.15, 2e-13),
                [
                    [420.0, 170.0, 180.0, 140.0, 14_034.3, 20.0, 40.0],
                    [660.0, 195.0, 205.0, 165.0, 11_547.3, 25.0, 40.0],
                    [780.0, 180.0, 185.0, 155.0, 7_539.3, 25.0, 40.0],
                ],
                0.5,
            ),
            Self::ThinHot => (
                params(0.005, 0.40, 950.0, 5e-10, 0.05, 1e-14),
                [
                    [
                        120.0,
                        200.0,
                        230.0,
                        180.0,
                        7_539.286_883_538_200_5,
                        30.0,
                        120.0,
                    ],
                    [
                        150.0,
                        230.0,
                        260.0,
                        210.0,
                        19_688.010_052_073_89,
                        35.0,
                        120.0,
                    ],
                    [
                        99.0,
                        210.0,
                        220.0,
                        190.0,
                        11_547.337_530_983_79,
                        30.0,
                        100.0,
                    ],
                ],
                0.0,
            ),
        };
        let mut stages: Vec<CaseStage> = zones
            .into_iter()
            .map(|[dur, ta, tr, tb, pa, hc, hb]| CaseStage {
                dur,
                Ta: ta + 273.15,
                Tr: tr + 273.15,
                Tb: tb + 273.15,
                pa,
                hc,
                hb,
                open,
                km: 1.0,
            })
            .collect();
        let room = |dur, pa, h, open, km| CaseStage {
            dur,
            Ta: 298.15,
            Tr: 298.15,
            Tb: 298.15,
            pa,
            hc: h,
            hb: h,
            open,
            km,
        };
        stages.push(room(900.0, 1579.25, 10.0, 1.0, 1.0));
        stages.push(room(604_800.0, 0.0, 5.0, 0.0, 0.0));
        let file = CaseFile {
            name: self.name().into(),
            params: p,
            stages,
            cells: 40,
            accuracy: CaseAccuracy::default(),
            output_times: None,
        };
        file.read()
            .expect("the benchmark cases are within every range")
    }
}

#[allow(non_snake_case)]
fn params(L: f64, X0: f64, rho_s: f64, D0: f64, phitau: f64, kappa: f64) -> CaseParams {
    CaseParams {
        L,
        X0,
        T0: 298.15,
        rho_s,
        c_s: 1700.0,
        c_w: 4186.0,
        k0: 0.17,
        k1: 0.4,
        D0,
        Ea: 25_000.0,
        Tref: 333.15,
        bX: 0.0,
        phitau,
        kappa,
        DK: 0.0,
        delta: 0.01,
        isoA: 2.28,
        isoB: 0.38,
        isoT: 0.0056,
        eps: 0.9,
        lam0: 2_501_000.0,
        lam1: 2361.0,
        Xc: 0.0,
        nX: 1.0,
    }
}
