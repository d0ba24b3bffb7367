//! Stores: the places where stock stands, what each may hold, and how warm it is there.

use crate::ids::{RoomId, StoreId};
use crate::register::facts::Facts;
use crate::science::agents::AgentKind;
use crate::science::show;
use crate::science::stored::{Millilitres, TenthsCelsius};
use crate::science::units::Units;
use crate::text::{Name, Note};

crate::words! {
    /// What a store is.
    pub enum StoreKind {
        Cabinet = "cabinet",
        Cage = "cage",
        Shelf = "shelf",
        Shed = "shed",
        Fridge = "fridge",
    }
}

impl StoreKind {
    pub fn words(self) -> &'static str {
        match self {
            Self::Cabinet => "cabinet for chemicals",
            Self::Cage => "cage",
            Self::Shelf => "shelf with a tray",
            Self::Shed => "shed or room that holds nothing else",
            Self::Fridge => "fridge that holds no food",
        }
    }
}

/// The kinds of agents that a store is meant for; none named is any that goes with the others in it.
#[derive(Clone, Debug, Default, PartialEq, Eq, sqlx::Type)]
#[sqlx(transparent)]
pub struct MayHold(String);

/// Between two kinds, as they are stored.
const BETWEEN: &str = "; ";

impl MayHold {
    pub fn of(kinds: &[AgentKind]) -> Self {
        let codes: Vec<&str> = kinds.iter().map(|kind| kind.code()).collect();
        Self(codes.join(BETWEEN))
    }

    pub fn kinds(&self) -> Vec<AgentKind> {
        let codes = self.0.split(BETWEEN);
        codes.filter_map(AgentKind::from_code).collect()
    }

    pub fn allows(&self, kind: AgentKind) -> bool {
        self.0.is_empty() || self.kinds().contains(&kind)
    }

    /// 'hydrogen peroxide, acid', or that none is named.
    pub fn words(&self) -> String {
        match self.0.is_empty() {
            true => "what goes together".to_owned(),
            false => self.0.replace(BETWEEN, ", "),
        }
    }
}

/// What is on record of a store.
#[derive(Clone, Debug, PartialEq)]
pub struct StoreFigures {
    pub name: Name,
    pub kind: StoreKind,
    pub room: Option<RoomId>,
    pub may_hold: MayHold,
    /// The most that its maker, its tray or the insurer lets stand in it.
    pub most: Option<Millilitres>,
    /// At the warmest time of the year.
    pub usual: Option<TenthsCelsius>,
    pub note: Note,
}

#[derive(Clone, Debug)]
pub struct Store {
    pub id: StoreId,
    pub figures: StoreFigures,
    pub room_name: Option<Name>,
    pub retired: bool,
    pub version: i64,
}

impl StoreFigures {
    pub fn facts(&self, units: Units) -> Facts {
        let most = self.most.map(|most| show::volume(most.volume(), units));
        vec![
            ("name", self.name.to_string()),
            ("kind", self.kind.to_string()),
            (
                "room",
                self.room.map(|room| room.to_string()).unwrap_or_default(),
            ),
            ("may hold", self.may_hold.words()),
            ("most", most.unwrap_or_default()),
            ("usual temperature", temperature(self.usual, units)),
            ("note", self.note.to_string()),
        ]
    }
}

/// '25 °C', or nothing.
pub fn temperature(usual: Option<TenthsCelsius>, units: Units) -> String {
    let celsius = usual.and_then(|usual| usual.celsius().ok());
    celsius.map_or_else(String::new, |celsius| show::temperature(celsius, units))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_store_holds_what_it_is_meant_for_and_one_without_a_word_anything() {
        let oxidisers = MayHold::of(&[AgentKind::HydrogenPeroxide, AgentKind::PeraceticBlend]);
        assert!(oxidisers.allows(AgentKind::HydrogenPeroxide));
        assert!(!oxidisers.allows(AgentKind::Alcohol));
        assert_eq!(oxidisers.words(), "hydrogen peroxide, peracetic acid blend");
        assert_eq!(oxidisers.kinds().len(), 2);
        assert!(MayHold::default().allows(AgentKind::Alcohol));
        assert_eq!(
            MayHold::of(&AgentKind::ALL).kinds(),
            AgentKind::ALL.to_vec()
        );
    }
}
