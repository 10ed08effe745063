//! Every route on one screen.

use crate::guard::{self, Names};
use crate::pages::{
    after, bake, bench, conflict, devices, exchange, history, look, lots, materials, measure,
    measured, next, own_oven, piece, settings, sheet, studies, study, trial, trials, using, weigh,
};
use crate::shell::Room;
use crate::tablets::authority_file;
use crate::{asset, assets, error};
use app::App;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

/// Bytes of a form.
pub(crate) const MOST_BYTES: usize = 2 * 1024 * 1024;
/// Bytes of an upload.
pub(crate) const MOST_UPLOAD_BYTES: usize = 50 * 1024 * 1024;

/// The whole site over an open book. `names` are the hosts that it answers to.
#[rustfmt::skip] // a list reads best as a list
pub fn router(app: App, names: Names) -> Router {
    let uploads = Router::new()
        .route("/studies/import",            post(exchange::import_new))
        .route("/studies/from-book",         post(exchange::from_book))
        .route("/study/{thing}/import",      post(exchange::import_into))
        .route("/study/{thing}/piece/file",  post(piece::file))
        .route("/materials/import",          post(materials::import))
        .route("/trial/{trial}/measure/file", post(measure::hold))
        .route("/trial/{trial}/measure/curves", post(measure::draw))
        .route("/trial/{trial}/measure/log", post(measure::hold_log))
        .layer(DefaultBodyLimit::max(MOST_UPLOAD_BYTES));
    // Each room is looked at under its own address; what is done in one stands below.
    let rooms = Room::ALL.into_iter().fold(Router::new(), |rooms, room| {
        rooms.route(&room.address("{thing}"), look(room))
    });
    let pages = rooms
        .route("/",                          get(studies::list))
        .route("/studies",                   get(studies::list).post(studies::create))
        .route("/studies/import/confirm",    post(exchange::confirm_new))
        .route("/studies/import/text",       post(exchange::import_text))
        .route("/removed",                   get(studies::removed))
        .route("/study/{thing}/sheet",       post(sheet::act))
        .route("/study/{thing}/so-far",      get(studies::so_far))
        .route("/study/{thing}/picture",     get(studies::picture))
        .route("/study/{thing}/away",        post(studies::away))
        .route("/study/{thing}/piece",       post(piece::act))
        .route("/study/{thing}/after",       post(after::act))
        .route("/study/{thing}/bake/would",  post(bake::would))
        .route("/study/{thing}/field",       get(bake::field))
        .route("/study/{thing}/solid",       get(bake::asked::look).post(bake::asked::start))
        .route("/study/{thing}/solid/stop",  post(bake::asked::stop))
        .route("/study/{thing}/solid/frames", get(bake::asked::frames))
        .route("/study/{thing}/weigh",       get(weigh::page))
        .route("/study/{thing}/measured",    get(measured::page))
        .route("/study/{thing}/difference",  get(history::difference))
        .route("/study/{thing}/conflict",    get(conflict::page))
        .route("/study/{thing}/settle",      post(conflict::put_together))
        .route("/study/{thing}/export",      get(exchange::export))
        .route("/study/{thing}/import/confirm", post(exchange::confirm_into))
        .route("/study/{thing}/edit",        post(study::edit))
        .route("/study/{thing}/undo",        post(study::undo))
        .route("/study/{thing}/redo",        post(study::redo))
        .route("/study/{thing}/save",        post(study::save))
        .route("/study/{thing}/save-over",   post(study::save_over))
        .route("/study/{thing}/discard",     get(study::ask_discard).post(study::discard))
        .route("/study/{thing}/duplicate",   post(study::duplicate))
        .route("/study/{thing}/remove",      post(study::remove))
        .route("/study/{thing}/restore",     post(study::restore))
        .route("/study/{thing}/use-material", post(materials::use_in_study))
        .route("/study/{thing}/lots",        get(lots::part).post(lots::take))
        .route("/study/{thing}/trials",      post(trials::keep))
        .route("/study/{thing}/next",        post(next::act))
        .route("/study/{thing}/own-oven",    post(own_oven::act))
        .route("/study/{thing}/own-oven/fit.toml", get(own_oven::file))
        .route("/study/{thing}/batch",       post(trials::begin))
        .route("/trial/{trial}",             get(trial::results))
        .route("/trial/{trial}/sheet",       get(trial::sheet))
        .route("/trial/{trial}/measurements", get(trial::measurements))
        .route("/trial/{trial}/measure",     get(measure::page).post(measure::keep))
        .route("/trial/{trial}/measure/look", post(measure::look))
        .route("/trial/{trial}/measure/probes", post(measure::look_log))
        .route("/trial/{trial}/measure/aside", post(measure::set_aside))
        .route("/trial/{trial}/abandon",     post(trial::abandon))
        .route("/trial/{trial}/more",        post(trial::more))
        .route("/materials",                 get(materials::list))
        .route("/materials/new",             get(materials::new))
        .route("/materials/export",          get(materials::export))
        .route("/materials/import/confirm",  post(materials::confirm))
        .route("/material/{id}",             get(materials::one).post(materials::save))
        .route("/material/{id}/lots",        post(lots::save))
        .route("/material/{id}/went",        get(lots::went))
        .route("/using/picture/{name}",      get(using::picture))
        .route("/using/{word}",              get(using::text))
        .route("/settings",                  get(settings::page).post(settings::save))
        .route("/settings/devices",          get(devices::page))
        .route("/settings/devices/pairing",  post(devices::pairing))
        .route("/settings/devices/door",     post(devices::turn))
        .route("/settings/devices/end",      post(devices::end))
        .route("/settings/devices/code",     post(devices::code))
        .route("/settings/devices/no-code",  post(devices::no_code))
        .route("/settings/devices/authority.crt", get(authority_file))
        .route("/assets/{tag}/{name}",       get(asset::asset))
        .route("/favicon.svg",               get(assets::favicon))
        .layer(DefaultBodyLimit::max(MOST_BYTES));
    let site = pages.merge(uploads).merge(bench::routes()).fallback(error::not_found).with_state(app);
    guard::around(site, names)
}
