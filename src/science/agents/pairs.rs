//! The table of what must not meet, each pair with what happens and where that stands written.

use super::{AgentKind, Harm, Pair};

const fn pair(
    a: AgentKind,
    b: AgentKind,
    harm: Harm,
    what: &'static str,
    source: &'static str,
) -> Pair {
    Pair {
        kinds: (a, b),
        harm,
        what,
        source,
    }
}

const GUIDELINE: &str =
    "US workplace health guideline for hydrogen peroxide, incompatibilities (reposted text)";
const STABILITY: &str = "producers' pages on stability: decomposition rises sharply above pH 5 and with metals (reference DEC-016, INC-009)";
const WASHINGTON: &str =
    "Washington State Department of Health, dangers of mixing bleach with cleaners (as quoted)";
const CHLORINE_CHART: &str =
    "incompatibility chart for sodium hypochlorite of the chlorine producers' institute, 2009";
const MEMORY: &str = "from memory";

/// Every pair that is refused.
pub static PAIRS: &[Pair] = &{
    use AgentKind::{
        Acid, Alcohol, Alkali, Ammonia, ChlorineDioxide, CropConcentrate, Detergent,
        HydrogenPeroxide, Hypochlorite, PeraceticBlend, Permanganate, QuaternaryAmmonium,
    };
    use Harm::{HeatAndPressure, PoisonousGas, Undone};
    [
        pair(
            HydrogenPeroxide,
            Hypochlorite,
            HeatAndPressure,
            "They destroy each other with heat, foam and oxygen, and a closed vessel can burst",
            CHLORINE_CHART,
        ),
        pair(
            HydrogenPeroxide,
            ChlorineDioxide,
            Undone,
            "Peroxide takes chlorine dioxide apart, and neither does its work",
            MEMORY,
        ),
        pair(
            HydrogenPeroxide,
            Acid,
            HeatAndPressure,
            "Strong acids make unstable mixtures that can explode, and vinegar makes peracetic acid, which burns skin and lungs",
            GUIDELINE,
        ),
        pair(
            HydrogenPeroxide,
            Alkali,
            HeatAndPressure,
            "Above pH 5 peroxide falls apart fast, with heat, foam and pressure",
            STABILITY,
        ),
        pair(
            HydrogenPeroxide,
            Ammonia,
            HeatAndPressure,
            "Ammonia is alkaline, and peroxide falls apart in it with heat and pressure",
            STABILITY,
        ),
        pair(
            HydrogenPeroxide,
            Alcohol,
            HeatAndPressure,
            "Concentrated peroxide with alcohol can explode",
            GUIDELINE,
        ),
        pair(
            HydrogenPeroxide,
            Permanganate,
            HeatAndPressure,
            "Permanganate takes peroxide apart at once, and strong peroxide can explode with it",
            GUIDELINE,
        ),
        pair(
            HydrogenPeroxide,
            CropConcentrate,
            HeatAndPressure,
            "Metals and organic matter take peroxide apart, with heat and gas",
            STABILITY,
        ),
        pair(
            PeraceticBlend,
            Hypochlorite,
            PoisonousGas,
            "The acid in it sets chlorine free from hypochlorite",
            WASHINGTON,
        ),
        pair(
            PeraceticBlend,
            ChlorineDioxide,
            PoisonousGas,
            "The acid in it sets chlorine dioxide gas free",
            MEMORY,
        ),
        pair(
            PeraceticBlend,
            Alkali,
            HeatAndPressure,
            "It falls apart fast in alkali, with heat, foam and pressure",
            STABILITY,
        ),
        pair(
            PeraceticBlend,
            Ammonia,
            HeatAndPressure,
            "Ammonia is alkaline, and the blend falls apart in it with heat and pressure",
            STABILITY,
        ),
        pair(
            PeraceticBlend,
            Alcohol,
            HeatAndPressure,
            "The peroxide in it can explode with alcohol when it is strong",
            GUIDELINE,
        ),
        pair(
            PeraceticBlend,
            Permanganate,
            HeatAndPressure,
            "Permanganate takes the peroxide in it apart at once",
            GUIDELINE,
        ),
        pair(
            PeraceticBlend,
            CropConcentrate,
            HeatAndPressure,
            "Metals and organic matter take it apart, with heat and gas",
            STABILITY,
        ),
        pair(
            Hypochlorite,
            ChlorineDioxide,
            PoisonousGas,
            "Mixed strong, they can set chlorine and chlorine dioxide gas free",
            MEMORY,
        ),
        pair(
            Hypochlorite,
            QuaternaryAmmonium,
            PoisonousGas,
            "Chlorine or other poisonous gases can come off",
            CHLORINE_CHART,
        ),
        pair(
            Hypochlorite,
            Acid,
            PoisonousGas,
            "Chlorine gas comes off, which can kill",
            WASHINGTON,
        ),
        pair(
            Hypochlorite,
            Ammonia,
            PoisonousGas,
            "Chloramine gas comes off, which harms lungs and can kill",
            WASHINGTON,
        ),
        pair(
            Hypochlorite,
            Alcohol,
            PoisonousGas,
            "Chloroform and other chlorinated poisons come off, and it may be violent",
            CHLORINE_CHART,
        ),
        pair(
            Hypochlorite,
            CropConcentrate,
            PoisonousGas,
            "Ammonium, acid and insecticides set chloramines or chlorine free",
            WASHINGTON,
        ),
        pair(
            Hypochlorite,
            Permanganate,
            HeatAndPressure,
            "Two strong oxidisers: what comes of them is not known well enough to let them meet",
            "common practice, no source",
        ),
        pair(
            ChlorineDioxide,
            Acid,
            PoisonousGas,
            "Chlorine dioxide gas comes off",
            MEMORY,
        ),
        pair(
            ChlorineDioxide,
            Ammonia,
            PoisonousGas,
            "They react, and poisonous gases can come off",
            "university list of incompatible chemicals: chlorine dioxide with ammonia",
        ),
        pair(
            QuaternaryAmmonium,
            Detergent,
            Undone,
            "Soap and most detergents take the effect of quaternary ammonium away",
            "University of Iowa, biosafety manual, section 8.2.9",
        ),
        pair(
            Acid,
            Alkali,
            HeatAndPressure,
            "They neutralise each other with heat, and strong ones spit",
            "common practice, no source",
        ),
        pair(
            Permanganate,
            Acid,
            HeatAndPressure,
            "With strong acid permanganate can explode, with hydrochloric acid chlorine comes off",
            MEMORY,
        ),
        pair(
            Permanganate,
            Alcohol,
            HeatAndPressure,
            "Permanganate can set alcohol on fire",
            MEMORY,
        ),
    ]
};
