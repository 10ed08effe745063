//! What a technologist expects of the demonstration. Common practice, no source, unless named.

use study::study::{Study, Treatment, WaterChoice};
use study::{Asked, Draw, Figure, KnockOn, Workspace, knock_on};

const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");

fn demonstration() -> Study {
    study::written::read(DEMONSTRATION).unwrap_or_else(|p| panic!("{p:#?}"))
}

fn answer(study: &Study, treatment: &Treatment) -> KnockOn {
    knock_on(study, treatment, &Asked::QUICK, Draw::Centre, &mut Workspace::new()).unwrap()
}

#[test]
fn print_all() {
    let study = demonstration();
    for t in &study.treatments {
        let started = std::time::Instant::now();
        let k = answer(&study, t);
        println!("== {} {:?}", k.name, started.elapsed());
        for f in Figure::ALL {
            println!("{:45} {:>12.4?} {}", f.about().name, f.value(&k), f.about().unit);
        }
        println!("edge {:.1} % grid {:.3} limit {:?} kill {}", k.bake.edge_correction_pct, k.bake.grid_error_points, k.bake.limit, k.bake.kill_shown);
        for s in &k.line.stations { println!("  {:20} {:8.0} {:.2} {}", s.name, s.capacity_kg_per_h, s.use_fraction, s.how); }
        println!("{}\n{:?}", k.label.ingredient_statement, k.label.guaranteed);
        for f in &k.findings { println!("  {:?} {} {}: {}", f.severity, f.code, f.about, f.message); }
    }
}
