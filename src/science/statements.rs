//! Hazard and precautionary statements of labels, in the words of the law text.
//!
//! Source: Regulation (EC) 1272/2008 (CLP), Annex III (hazard statements) and Annex IV (precautionary
//! statements), English text; the same codes and words come from the UN GHS. Wording from memory: the
//! supplier's label and safety data sheet win.

/// Where the words stand written.
pub const SOURCE: &str = "Regulation (EC) 1272/2008, Annex III and Annex IV (wording from memory)";

/// The hazard statement of a code; none for one that no strength of peroxide carries.
///
/// ```
/// use slackwater::science::statements::hazard;
/// assert_eq!(hazard("H318"), Some("Causes serious eye damage."));
/// assert_eq!(hazard("H999"), None);
/// ```
pub fn hazard(code: &str) -> Option<&'static str> {
    Some(match code {
        "H271" => "May cause fire or explosion; strong oxidiser.",
        "H272" => "May intensify fire; oxidiser.",
        "H302" => "Harmful if swallowed.",
        "H314" => "Causes severe skin burns and eye damage.",
        "H315" => "Causes skin irritation.",
        "H318" => "Causes serious eye damage.",
        "H319" => "Causes serious eye irritation.",
        "H332" => "Harmful if inhaled.",
        "H335" => "May cause respiratory irritation.",
        _ => return None,
    })
}

/// A precautionary statement: its code or combined codes, and its words.
pub type Precaution = (&'static str, &'static str);

/// The precautions, in the order in which a label has them, each with the hazards that call for it.
const PRECAUTIONS: &[(Precaution, &[&str])] = &[
    (
        (
            "P210",
            "Keep away from heat, hot surfaces, sparks, open flames and other ignition sources. No smoking.",
        ),
        &["H271", "H272"],
    ),
    (
        (
            "P220",
            "Keep away from clothing and other combustible materials.",
        ),
        &["H271", "H272"],
    ),
    (
        ("P260", "Do not breathe mist, vapours or spray."),
        &["H314"],
    ),
    (
        ("P261", "Avoid breathing mist, vapours and spray."),
        &["H332", "H335"],
    ),
    (
        ("P264", "Wash hands thoroughly after handling."),
        &["H302", "H314", "H315", "H319"],
    ),
    (
        (
            "P280",
            "Wear protective gloves, protective clothing, eye protection and face protection.",
        ),
        &["H271", "H272", "H314", "H315", "H318", "H319"],
    ),
    (
        (
            "P301 + P330 + P331",
            "IF SWALLOWED: Rinse mouth. Do NOT induce vomiting.",
        ),
        &["H314"],
    ),
    (
        (
            "P301 + P312",
            "IF SWALLOWED: Call a POISON CENTRE or doctor if you feel unwell.",
        ),
        &["H302"],
    ),
    (
        ("P302 + P352", "IF ON SKIN: Wash with plenty of water."),
        &["H315"],
    ),
    (
        (
            "P303 + P361 + P353",
            "IF ON SKIN (or hair): Take off immediately all contaminated clothing. Rinse skin with water or shower.",
        ),
        &["H314"],
    ),
    (
        (
            "P304 + P340",
            "IF INHALED: Remove person to fresh air and keep comfortable for breathing.",
        ),
        &["H314", "H332", "H335"],
    ),
    (
        (
            "P305 + P351 + P338",
            "IF IN EYES: Rinse cautiously with water for several minutes. Remove contact lenses, if present and easy to do. Continue rinsing.",
        ),
        &["H314", "H318", "H319"],
    ),
    (
        ("P310", "Immediately call a POISON CENTRE or doctor."),
        &["H314", "H318"],
    ),
    (
        (
            "P337 + P313",
            "If eye irritation persists: Get medical advice or attention.",
        ),
        &["H319"],
    ),
    (
        (
            "P501",
            "Dispose of contents and container as local rules say.",
        ),
        &["H271", "H272", "H302", "H314"],
    ),
];

/// The precautions that go with these hazards, each once, in the order of a label. A selection of this
/// house; which ones a supplier prints may differ.
///
/// ```
/// use slackwater::science::statements::precautions;
/// let codes: Vec<&str> = precautions(&["H319"]).iter().map(|(code, _)| *code).collect();
/// assert_eq!(codes, ["P264", "P280", "P305 + P351 + P338", "P337 + P313"]);
/// assert!(precautions::<&str>(&[]).is_empty());
/// ```
pub fn precautions<S: AsRef<str>>(hazards: &[S]) -> Vec<Precaution> {
    let carries = |codes: &[&str]| hazards.iter().any(|code| codes.contains(&code.as_ref()));
    let mut found: Vec<Precaution> = PRECAUTIONS
        .iter()
        .filter(|(_, codes)| carries(codes))
        .map(|(precaution, _)| *precaution)
        .collect();
    // What must not be breathed at all is not merely to be avoided.
    if found.iter().any(|(code, _)| *code == "P260") {
        found.retain(|(code, _)| *code != "P261");
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn burns_forbid_vomiting_and_ask_for_a_doctor_and_no_precaution_stands_twice() {
        let all = ["H314", "H335", "H272", "H302", "H332"];
        let found = precautions(&all);
        let codes: Vec<&str> = found.iter().map(|(code, _)| *code).collect();
        assert!(codes.contains(&"P310") && codes.contains(&"P301 + P330 + P331"));
        assert!(!codes.contains(&"P261"));
        let mut once = codes.clone();
        once.dedup();
        assert_eq!(once, codes);
    }

    #[test]
    fn every_hazard_that_calls_for_a_precaution_has_its_words() {
        for (_, hazards) in PRECAUTIONS {
            for code in *hazards {
                assert!(hazard(code).is_some(), "{code}");
            }
        }
    }
}
