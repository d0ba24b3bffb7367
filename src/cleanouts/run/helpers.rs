//! A group of pupils that helps at a step: by its name and head count, under somebody who signs.

use crate::cleanouts::card::{FrozenStep, Least};
use crate::crew::{AgeBand, Person};

/// Why a group cannot help at a step; nothing when it can. A step that asks for a skill is for those
/// who hold it, and a group holds none.
pub fn against(step: &FrozenStep, group: &Person) -> Option<String> {
    let name = &group.name;
    match step.least() {
        Least::Anybody => None,
        Least::Adult if group.age_band == AgeBand::Adult => None,
        Least::Adult => Some(format!(
            "{name} are minors, and this step is for adults. They keep out of it."
        )),
        Least::Concentrate | Least::Electrics => Some(format!(
            "This step is for adults who hold a skill for it, and a group holds none. {name} keep out of it."
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cleanouts::card::{Phase, StepKind};
    use crate::cleanouts::run::fixture::step;
    use crate::crew::{Kind, Role};
    use crate::ids::PersonId;
    use crate::text::Name;

    #[test]
    fn a_group_helps_where_anybody_may_and_grown_ups_where_adults_may() {
        let group = |age_band| Person {
            id: PersonId::from_row(1),
            name: Name::parse("Group 7B").unwrap(),
            kind: Kind::Group,
            head_count: 12,
            role: Role::Hand,
            age_band,
            sign_in: None,
            ended: false,
            version: 1,
        };
        let (pupils, evening_class) = (group(AgeBand::Minor), group(AgeBand::Adult));
        let mut tick = step(1, Phase::Strip, StepKind::Tick);
        assert_eq!(against(&tick, &pupils), None);
        tick.least = Least::Adult;
        assert!(against(&tick, &pupils).unwrap().contains("are minors"));
        assert_eq!(against(&tick, &evening_class), None);
        for least in [Least::Electrics, Least::Concentrate] {
            tick.least = least;
            assert!(
                against(&tick, &evening_class)
                    .unwrap()
                    .contains("holds none")
            );
        }
        let pours = step(1, Phase::Dose, StepKind::Pours);
        assert!(against(&pours, &evening_class).is_some());
    }
}
