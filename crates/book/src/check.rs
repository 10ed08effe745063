//! What can be kept at all. Any text is kept as it is; only its length is limited, and the NUL
//! character is refused outside forms.

use crate::{BookError, FORM_LIMIT_BYTES, NAME_LIMIT_BYTES, Save, TEXT_LIMIT_BYTES};

pub(crate) fn check_save(save: &Save) -> Result<(), BookError> {
    check_change(&save.thing, &save.who, &save.when, save.why.as_deref())?;
    check_text("the title", &save.title, TEXT_LIMIT_BYTES)?;
    check_form(&save.form)
}

pub(crate) fn check_form(form: &str) -> Result<(), BookError> {
    if form.is_empty() {
        let why = "it is empty; remove the thing instead".to_owned();
        return Err(BookError::Refused {
            field: "the form",
            why,
        });
    }
    if form.len() > FORM_LIMIT_BYTES {
        let why = format!(
            "it has {} bytes, at most {FORM_LIMIT_BYTES} are kept",
            form.len()
        );
        return Err(BookError::Refused {
            field: "the form",
            why,
        });
    }
    Ok(())
}

pub(crate) fn check_change(
    thing: &str,
    who: &str,
    when: &str,
    why: Option<&str>,
) -> Result<(), BookError> {
    check_name(thing)?;
    check_who(who)?;
    check_when(when)?;
    why.map_or(Ok(()), |why| {
        check_text("the reason", why, TEXT_LIMIT_BYTES)
    })
}

pub(crate) fn check_name(thing: &str) -> Result<(), BookError> {
    let field = "the lasting name of a thing";
    if thing.is_empty() {
        return Err(BookError::Refused {
            field,
            why: "it is empty".to_owned(),
        });
    }
    check_text(field, thing, NAME_LIMIT_BYTES)
}

pub(crate) fn check_who(who: &str) -> Result<(), BookError> {
    let field = "the name of the person";
    if who.trim().is_empty() {
        return Err(BookError::Refused {
            field,
            why: "it is empty; say who made the change".to_owned(),
        });
    }
    check_text(field, who, TEXT_LIMIT_BYTES)
}

/// Any text is kept as it is, but for the NUL character, which not every database can hold.
pub(crate) fn check_text(field: &'static str, text: &str, most: usize) -> Result<(), BookError> {
    if text.len() > most {
        let why = format!(
            "it has {} bytes, at most {most} are kept; shorten it",
            text.len()
        );
        return Err(BookError::Refused { field, why });
    }
    if text.contains('\0') {
        let why = "it contains the NUL character, which cannot be stored; take it out".to_owned();
        return Err(BookError::Refused { field, why });
    }
    Ok(())
}

/// A moment in UTC as RFC 3339 writes it: `2026-11-25T09:00:44Z`, with a decimal fraction of the
/// second if wanted.
pub(crate) fn check_when(when: &str) -> Result<(), BookError> {
    let shape_is_right = when.is_ascii() && when.len() >= 20 && when.len() <= 30 && {
        let (whole, rest) = when.split_at(19);
        let digits_and_marks =
            whole
                .bytes()
                .zip("0000-00-00T00:00:00".bytes())
                .all(|(byte, shape)| match shape {
                    b'0' => byte.is_ascii_digit(),
                    mark => byte == mark,
                });
        let part = |from: usize, range: std::ops::RangeInclusive<u32>| {
            whole[from..from + 2]
                .parse()
                .is_ok_and(|part: u32| range.contains(&part))
        };
        let fraction = rest.strip_suffix('Z').is_some_and(|fraction| {
            fraction.is_empty()
                || fraction.strip_prefix('.').is_some_and(|digits| {
                    !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
                })
        });
        digits_and_marks
            && fraction
            && part(5, 1..=12)
            && part(8, 1..=31)
            && part(11, 0..=23)
            && part(14, 0..=59)
            && part(17, 0..=60)
    };
    if shape_is_right {
        return Ok(());
    }
    let shown: String = when.chars().take(40).collect();
    let why = format!("‘{shown}’ is not a moment in UTC written like 2026-11-25T09:00:44Z");
    Err(BookError::Refused {
        field: "the time",
        why,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_utc_as_rfc_3339_writes_them() {
        for good in [
            "2026-11-25T09:00:44Z",
            "2026-11-25T09:00:44.5Z",
            "2016-12-31T23:59:60Z",
        ] {
            assert!(check_when(good).is_ok(), "{good}");
        }
        for bad in [
            "",
            "now",
            "2026-11-25 09:00:44Z",
            "2026-11-25T09:00:44",
            "2026-11-25T09:00:44+01:00",
            "2026-13-25T09:00:44Z",
            "2026-11-25T24:00:44Z",
            "2026-11-25T09:00:44.Z",
            "２026-11-25T09:00:44Z",
        ] {
            assert!(check_when(bad).is_err(), "{bad}");
        }
    }
}
