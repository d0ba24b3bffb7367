//! Where the solver looks first: at the plan in hand.

use std::cell::RefCell;
use std::rc::Rc;

use pumpkin_core::branching::branchers::autonomous_search::AutonomousSearch;
use pumpkin_core::branching::{Brancher, BrancherEvent, SelectionContext};
use pumpkin_core::predicate;
use pumpkin_core::predicates::Predicate;
use pumpkin_core::variables::DomainId;

/// Variables with the value each had in the best plan so far, in the order in which they are decided.
pub(super) type Wishes = Rc<RefCell<Vec<(DomainId, i32)>>>;

/// Decides by what has caused conflicts; before there were any, as the best plan has it.
pub(super) type Guide = AutonomousSearch<Follow>;

/// Follows the wishes; where one cannot be had, the variable takes its least value.
#[derive(Debug)]
pub(super) struct Follow(Wishes);

pub(super) fn guide(wishes: &Wishes) -> Guide {
    AutonomousSearch::new(Follow(Rc::clone(wishes)))
}

impl Brancher for Follow {
    fn next_decision(&mut self, context: &mut SelectionContext<'_>) -> Option<Predicate> {
        for &(variable, wish) in self.0.borrow().iter() {
            if !context.is_integer_fixed(variable) {
                let least = context.lower_bound(variable);
                let value = if context.contains(variable, wish) {
                    wish
                } else {
                    least
                };
                return Some(predicate!(variable == value));
            }
        }
        // What is left follows from these, or does not matter.
        let free = context
            .get_domains()
            .find(|&domain| !context.is_integer_fixed(domain))?;
        let least = context.lower_bound(free);
        Some(predicate!(free == least))
    }

    fn is_restart_pointless(&mut self) -> bool {
        false
    }

    fn subscribe_to_events(&self) -> Vec<BrancherEvent> {
        Vec::new()
    }
}
