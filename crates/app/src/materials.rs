//! Materials: the shelf that comes with the program, one's own values over it, and where each is
//! used.
//!
//! Own values of the book are a store to take from: a study keeps the values it is worked out with
//! in its own text, so that an old revision means the same for ever.

use crate::reading::readable;
use crate::sheet::StudyView;
use crate::texts::shown;
use crate::{App, AppError, FORM_VERSION, now};
use book::{Entry, Kind, Order, Page, Save};
use formula::Material;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use study::edit::{self, Edit, Put};
use study::written::tables::{ChangeRow, FormulaLineRow, MaterialRow, RootRow, TreatmentRow};
use study::written::{Row, StudyWritten, Value, resolve};

/// Fields of a material and their values.
pub type Values = BTreeMap<String, Put>;

/// One's own values for a material, as the book keeps them.
#[derive(Clone, Debug, Serialize)]
pub struct OwnMaterial {
    /// Their newest revision.
    pub entry: Entry,
    /// The values.
    pub values: Values,
}

/// A line of the list of materials.
#[derive(Clone, Debug, Serialize)]
pub struct MaterialLine {
    /// The material, own values in place.
    pub material: Arc<Material>,
    /// Whether the book has values of one's own for it.
    pub own: bool,
}

/// A study that uses a material.
#[derive(Clone, Debug, Serialize)]
pub struct Use {
    /// Lasting name of the study.
    pub thing: String,
    /// What it is called.
    pub title: String,
    /// Its newest revision.
    pub revision: u64,
    /// Names of the treatments with a line of it, as written; those that start from them not counted.
    pub treatments: Vec<String>,
    /// Values that the study puts over the material's, as field and value.
    pub overrides: Vec<(String, String)>,
}

/// Everything about one material.
#[derive(Clone, Debug, Serialize)]
pub struct MaterialView {
    /// Its short name.
    pub id: String,
    /// As the shelf has it.
    pub shelf: Option<Arc<Material>>,
    /// One's own values.
    pub own: Option<OwnMaterial>,
    /// The material with own values in place; none when they don't make a material.
    pub material: Option<Arc<Material>>,
    /// What keeps own values from making a material.
    pub problems: Vec<String>,
    /// Studies that use it.
    pub uses: Vec<Use>,
}

/// Most studies that are looked through for uses.
const MOST_STUDIES: u64 = 1000;

impl App {
    /// The materials whose name, short name or kind has every word of `search`, own ones first.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn materials(&self, search: Option<&str>) -> Result<Vec<MaterialLine>, AppError> {
        let own = self.own_materials().await?;
        let words: Vec<String> = search
            .unwrap_or("")
            .split_whitespace()
            .map(str::to_lowercase)
            .collect();
        let fits = |m: &Material| {
            let text = format!("{} {} {} {}", m.name, m.id, m.category.word(), m.label_name)
                .to_lowercase();
            words.iter().all(|w| text.contains(w))
        };
        let built = own
            .iter()
            .filter_map(|o| built(&o.entry.thing, &o.values).ok());
        let own_lines = built.map(|material| MaterialLine {
            material,
            own: true,
        });
        let shelf = formula::shelf::shelf()
            .iter()
            .filter(|m| !own.iter().any(|o| o.entry.thing == m.id));
        let shelf_lines = shelf.map(|m| MaterialLine {
            material: Arc::clone(m),
            own: false,
        });
        Ok(own_lines
            .chain(shelf_lines)
            .filter(|line| fits(&line.material))
            .collect())
    }

    /// One's own values for materials.
    pub(crate) async fn own_materials(&self) -> Result<Vec<OwnMaterial>, AppError> {
        let list = self
            .book
            .list(
                Kind::Material,
                None,
                Order::Title,
                Page::first(Page::LONGEST),
            )
            .await?;
        let mut own = Vec::with_capacity(list.items.len());
        for entry in list.items {
            if let Some(found) = self.own_material(&entry.thing).await? {
                own.push(found);
            }
        }
        Ok(own)
    }

    async fn own_material(&self, id: &str) -> Result<Option<OwnMaterial>, AppError> {
        let current = self.book.current(Kind::Material, id).await?;
        Ok(current.map(|r| OwnMaterial {
            values: serde_json::from_str(&r.form).unwrap_or_default(),
            entry: r.entry,
        }))
    }

    /// Everything about one material.
    ///
    /// # Errors
    /// No such material; what the book tells.
    pub async fn material(&self, id: &str) -> Result<MaterialView, AppError> {
        let shelf = formula::shelf::find(id);
        let own = self.own_material(id).await?;
        let uses = self.uses_of(id).await?;
        if shelf.is_none() && own.is_none() && uses.is_empty() {
            return Err(AppError::NoMaterial(shown(id)));
        }
        let (material, problems) = match &own {
            None => (shelf.clone(), Vec::new()),
            Some(own) => match built(id, &own.values) {
                Ok(material) => (Some(material), Vec::new()),
                Err(problems) => (None, problems),
            },
        };
        Ok(MaterialView {
            id: id.to_owned(),
            shelf,
            own,
            material,
            problems,
            uses,
        })
    }

    async fn uses_of(&self, id: &str) -> Result<Vec<Use>, AppError> {
        let list = self
            .book
            .list(Kind::Study, None, Order::Title, Page::first(MOST_STUDIES))
            .await?;
        let quoted = format!("\"{id}\"");
        let mut uses = Vec::new();
        for entry in list.items {
            let Some(current) = self.book.current(Kind::Study, &entry.thing).await? else {
                continue;
            };
            if !current.form.contains(&quoted) {
                continue;
            }
            let Ok(written) = readable(&current.form) else {
                continue;
            };
            if let Some(found) = use_in(&written, id, &entry) {
                uses.push(found);
            }
        }
        Ok(uses)
    }

    /// Saves one's own values for a material; fields that are missing fall back to the shelf's.
    ///
    /// # Errors
    /// A field or value that can't be; values that don't make a material; somebody saved since
    /// `base`; what the book tells.
    pub async fn save_material(
        &self,
        who: &str,
        id: &str,
        base: Option<u64>,
        values: &Values,
        why: Option<String>,
    ) -> Result<Entry, AppError> {
        let material = built(id, values).map_err(|problems| AppError::Value {
            field: format!("material {}", shown(id)),
            why: problems.join("; "),
        })?;
        let save = Self::material_save(who, &material, base, values, why)?;
        Ok(self.book.save(save).await?.entry)
    }

    pub(crate) fn material_save(
        who: &str,
        material: &Material,
        base: Option<u64>,
        values: &Values,
        why: Option<String>,
    ) -> Result<Save, AppError> {
        Ok(Save {
            kind: Kind::Material,
            thing: material.id.clone(),
            base,
            who: who.to_owned(),
            when: now(),
            why: why.map(|w| w.trim().to_owned()).filter(|w| !w.is_empty()),
            title: material.name.clone(),
            form_version: FORM_VERSION,
            form: serde_json::to_string(values).map_err(|e| AppError::BrokenOff(e.to_string()))?,
        })
    }

    /// The number of the newest revision of one's own values, for saving on top.
    pub(crate) async fn material_base(&self, id: &str) -> Result<Option<u64>, AppError> {
        Ok(self
            .book
            .newest(Kind::Material, id)
            .await?
            .map(|r| r.entry.number))
    }

    /// Puts one's own values for a material into a study's draft.
    ///
    /// # Errors
    /// No own values; what an edit tells.
    pub async fn use_material(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        id: &str,
    ) -> Result<StudyView, AppError> {
        let own = self
            .own_material(id)
            .await?
            .ok_or_else(|| AppError::NoMaterial(shown(id)))?;
        self.edit(who, thing, seen, &[override_with(id, &own.values)])
            .await
    }
}

fn override_with(id: &str, values: &Values) -> Edit {
    Edit::OverrideMaterial {
        material: id.to_owned(),
        values: values
            .iter()
            .map(|(k, v)| (k.clone(), Some(v.clone())))
            .collect(),
    }
}

/// The material that values make over the shelf's, or what keeps them from it.
pub(crate) fn built(id: &str, values: &Values) -> Result<Arc<Material>, Vec<String>> {
    let start = readable(crate::Start::default().text()).map_err(|e| vec![e.to_string()])?;
    let written =
        edit::apply(&start, &override_with(id, values)).map_err(|e| vec![e.to_string()])?;
    let study = resolve(&written)
        .map_err(|problems| problems.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    study
        .material(id)
        .ok_or_else(|| vec!["it could not be built".to_owned()])
}

/// How a study uses a material, if it does.
fn use_in(written: &StudyWritten, id: &str, entry: &Entry) -> Option<Use> {
    let line = |l: &Row| l.get(FormulaLineRow::material) == Some(id);
    let change = |c: &Row| ChangeRow::read(c).is_some_and(|c| c.materials().contains(&id));
    let treatments = written.treatments().iter().filter(|t| {
        t.rows(TreatmentRow::lines).iter().any(line)
            || t.rows(TreatmentRow::changes).iter().any(change)
    });
    let treatments: Vec<String> = treatments
        .filter_map(|t| t.get(TreatmentRow::name).or(t.get(TreatmentRow::id)))
        .map(str::to_owned)
        .collect();
    let overrides = written
        .root
        .rows(RootRow::material)
        .iter()
        .find(|m| m.get(MaterialRow::id) == Some(id));
    if treatments.is_empty() && overrides.is_none() {
        return None;
    }
    let told = |value: &Value| match value {
        Value::Text(t) => t.clone(),
        Value::Number(n) => n.to_string(),
        Value::Flag(f) => f.to_string(),
        Value::Words(w) => w.join(", "),
        Value::Row(_) | Value::Rows(_) => "…".to_owned(),
    };
    Some(Use {
        thing: entry.thing.clone(),
        title: entry.title.clone(),
        revision: entry.number,
        treatments,
        overrides: overrides.map_or_else(Vec::new, |m| {
            m.entries
                .iter()
                .filter(|e| e.key != MaterialRow::id.name)
                .map(|e| (e.key.to_owned(), told(&e.value)))
                .collect()
        }),
    })
}
