//! `hardtack study batch`: what to weigh, in order of addition, rounded to the scale.

use super::find::find;
use crate::args::Batch;
use crate::table::{Row, Side, table};
use crate::{End, files, tell};
use formula::batch::{Scales, Size, scale};
use study::chain::dough_and_piece::dough_and_piece;
use study::{BakeOptions, Sample};

/// Tells the weigh sheet.
pub fn run(args: &Batch) -> anyhow::Result<End> {
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let treatment = match &args.treatment {
        Some(id) => find(&study, id)?,
        None => study.control(),
    };
    let prepared = dough_and_piece(treatment, &BakeOptions::QUICK, Sample::Centre)?;
    let size = match (args.dough_kg, args.pieces, args.bowl_l) {
        (Some(kg), ..) => Size::Dough { kg },
        (_, Some(count), _) => Size::Pieces {
            count,
            green_mass_kg: prepared.green_kg,
            loss_fraction: args.loss_pct / 100.0,
        },
        (.., litres) => Size::MixerFill {
            bowl_volume_m3: litres.unwrap_or_default() / 1000.0,
            fill_fraction: args.fill_pct / 100.0,
            dough_density_kg_per_m3: prepared.dough.density.dough_kg_per_m3,
        },
    };
    let batch = scale(&prepared.formula, size, Scales::one(args.scale_g / 1000.0))?;
    if args.json {
        tell::json(&batch)?;
        return Ok(End::Fine);
    }
    let mut stage = None;
    let mut rows = Vec::new();
    for line in &batch.lines {
        if stage != Some(line.stage) {
            stage = Some(line.stage);
            rows.push(Row::Heading(line.stage.word().to_owned()));
        }
        rows.push(Row::Cells(vec![
            format!("  {}", line.name),
            line.lot.clone(),
            format!("{:.4}", line.weighed_kg),
            format!("{:+.2} g", 1e3 * line.rounding_error_kg()).replace('-', "−"),
        ]));
    }
    rows.push(Row::Heading(String::new()));
    rows.push(Row::Cells(vec![
        "dough".into(),
        String::new(),
        format!("{:.4}", batch.weighed_kg),
        format!("{:+.2} g", 1e3 * batch.rounding_error_kg()).replace('-', "−"),
    ]));
    let sides = [Side::Left, Side::Left, Side::Right, Side::Right];
    let head = ["", "lot", "weigh, kg", "rounding"];
    tell::out(&format!("{}\n", tell::styled(tell::BOLD, &treatment.name)))?;
    tell::out(&table(&head, &sides, &rows))?;
    tell::out(&tell::findings(
        &[(treatment.id.as_str(), &batch.findings())],
        true,
    ))?;
    tell::out("Raw dough and raw flour can carry germs: don't taste, don't feed; wash hands.\n")?;
    Ok(End::Fine)
}
