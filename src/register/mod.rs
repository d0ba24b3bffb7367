//! The register: rooms, systems, and what a system is made of; what it holds, and how that is known.
//!
//! Nothing here is deleted. What was entered is retired, and records go on pointing at it.

pub mod benches;
pub mod checks;
pub mod entry;
pub mod facts;
pub mod fills;
pub mod flow_tests;
pub mod flow_trend;
pub mod gauges;
pub mod hold;
pub mod import;
pub mod jugs;
pub mod kit;
pub mod pages;
pub mod part;
pub mod pumps;
pub mod reservoirs;
pub mod rooms;
pub mod store;
pub mod systems;
pub mod tank_days;
pub mod tubing;
pub mod water;

use crate::science::flood::MediaKind;
use crate::science::quantity::Known;

crate::words! {
    /// What fills a bench.
    pub enum Media {
        Clay = "clay",
        Gravel = "gravel",
        Perlite = "perlite",
        FoamedGlass = "foamed glass",
        RiceHulls = "rice hulls",
        Pumice = "pumice",
        Other = "other",
        None = "none",
    }
}

impl Media {
    /// Its usual figures, where there are any.
    pub fn usual(self) -> Option<MediaKind> {
        match self {
            Self::Clay => Some(MediaKind::ExpandedClay),
            Self::Gravel => Some(MediaKind::Gravel),
            Self::Perlite => Some(MediaKind::Perlite),
            Self::FoamedGlass => Some(MediaKind::FoamedGlass),
            Self::RiceHulls => Some(MediaKind::RiceHulls),
            Self::Pumice => Some(MediaKind::Pumice),
            Self::Other | Self::None => None,
        }
    }

    pub fn words(self) -> &'static str {
        match (self.usual(), self) {
            (Some(kind), _) => kind.words(),
            (None, Self::None) => "none, pots on the floor",
            (None, _) => "other media",
        }
    }
}

crate::words! {
    /// How the top of a bed lies on a floor that falls.
    pub enum MediaLie {
        Level = "level",
        FollowsFloor = "follows the floor",
    }
}

crate::words! {
    /// How the fractions of a bed are known, a bucket test apart.
    pub enum FractionsKnown {
        Usual = "usual figure",
        Given = "given",
    }
}

impl FractionsKnown {
    pub fn known(self) -> Known {
        match self {
            Self::Usual => Known::Usual,
            Self::Given => Known::Entered,
        }
    }
}

crate::words! {
    /// How the heel is known.
    pub enum HeelKnown {
        Measured = "measured",
        Usual = "usual figure",
    }
}

impl HeelKnown {
    pub fn known(self) -> Known {
        match self {
            Self::Measured => Known::Measured,
            Self::Usual => Known::Usual,
        }
    }
}

crate::words! {
    pub enum PumpKind {
        Submersible = "submersible",
        Inline = "inline",
    }
}

crate::words! {
    /// What a tubing run is for.
    pub enum Purpose {
        Fill = "fill",
        Drain = "drain",
        Overflow = "overflow",
    }
}

crate::words! {
    /// The wall of a tube inside.
    pub enum TubeWall {
        Smooth = "smooth",
        Ribbed = "ribbed",
    }
}

crate::words! {
    /// How the media stand before water comes in. Dry media take more of it than wet ones.
    pub enum MediaWas {
        Wet = "wet",
        Dry = "dry",
    }
}

crate::words! {
    /// Whether the heel was in the reservoir when a measured fill began.
    pub enum HeelWas {
        In = "in",
        Emptied = "emptied",
    }
}

crate::words! {
    /// How a fill was measured.
    pub enum FillHow {
        Metered = "metered",
        Jug = "jug",
        Timed = "timed",
    }
}

impl FillHow {
    pub fn words(self) -> &'static str {
        match self {
            Self::Metered => "with a water meter",
            Self::Jug => "with a jug or a can, counted",
            Self::Timed => "by the clock, from a flow that was measured",
        }
    }
}
