//! Farms to plan for: a small one of two benches, and any one by chance.

use crate::planner::chance::Chance;
use crate::planner::*;

pub const DAY: Slot = 96;

pub fn hands(duration: Slot, people: usize) -> Handwork {
    Handwork { duration, people }
}

pub fn job(id: &str, release: Slot, due: Slot) -> Job {
    Job {
        id: id.to_owned(),
        room: 0,
        release,
        due,
        hard_due: due + 3 * DAY,
        weight: 1,
        strip: hands(4, 1),
        dose: Dosing {
            duration: 2,
            airing: 4,
            people: 1,
            water_l: 300,
            product: 0,
            peroxide_ml: 900,
        },
        soak: Soak { least: 12, lag: 4 },
        rinses: vec![
            Rinse {
                duration: 3,
                hands_on: 1,
                water_l: 240,
            },
            Rinse {
                duration: 2,
                hands_on: 1,
                water_l: 240,
            },
        ],
        teardown: hands(2, 1),
        teardown_draws: Vec::new(),
        inspect: hands(2, 1),
        fill_l: 300,
        last_in_day: false,
        waits: Waits {
            strip_dose: 2 * DAY,
            rinse_teardown: 2 * DAY,
            teardown_inspect: 2 * DAY,
        },
    }
}

pub fn person(id: &str, concentrate: bool, days: Slot) -> Person {
    let shifts = (0..days).flat_map(|day| {
        let at = day * DAY;
        [
            Shift {
                span: Span {
                    from: at + 32,
                    to: at + 64,
                },
                overtime: false,
            },
            Shift {
                span: Span {
                    from: at + 64,
                    to: at + 72,
                },
                overtime: true,
            },
        ]
    });
    Person {
        id: id.to_owned(),
        concentrate,
        shifts: shifts.collect(),
    }
}

/// Two benches in one bay of Orrelby Glasshouses, and a crew of two.
pub fn farm() -> Problem {
    Problem {
        slot_minutes: 15,
        horizon: 7 * DAY,
        days: Vec::new(),
        people: vec![person("ines", true, 7), person("tobit", false, 7)],
        rooms: vec![Room {
            id: "bay-2".to_owned(),
            occupied: vec![Span { from: 34, to: 40 }],
            closed: Vec::new(),
        }],
        crew_out: false,
        kits: 1,
        water: Water {
            tank_l: 900,
            initial_l: 900,
            rate_l_per_slot: 30,
        },
        stocks: vec![Stock {
            initial_ml: 900,
            deliveries: vec![Delivery { slot: DAY, ml: 900 }],
        }],
        taken: Taken::default(),
        jobs: vec![job("b1", 32, DAY), job("b2", 32, 2 * DAY)],
        prices: Prices {
            late: 4,
            overtime: 3,
        },
    }
    .check()
    .unwrap()
}

/// A farm by chance: small, often short of something.
pub fn any_farm(number: u64) -> Problem {
    let mut chance = Chance::new(number);
    let mut up_to = |most: usize| chance.below(most + 1) as Slot;
    let days = 5 + up_to(5);
    let people = (0..up_to(4))
        .map(|index| {
            let mut one = person(&format!("p{index}"), up_to(2) > 0, days);
            one.shifts.retain(|_| up_to(9) > 0);
            if up_to(3) == 0 {
                one.shifts.retain(|shift| !shift.overtime);
            }
            one
        })
        .collect();
    let rooms = 1 + up_to(1);
    let room = |index: Slot, occupied: Vec<Span>| Room {
        id: format!("r{index}"),
        // In one of three a dosing stands that is poured and aired as others come.
        closed: occupied
            .first()
            .filter(|_| number.is_multiple_of(3))
            .map(|span| Span {
                from: span.from,
                to: span.from + 6,
            })
            .into_iter()
            .collect(),
        occupied,
    };
    let rooms: Vec<Room> = (0..rooms)
        .map(|index| {
            let spans = (0..days).filter(|_| up_to(1) == 0).map(|day| day * DAY);
            room(
                index,
                spans
                    .map(|at| Span {
                        from: at + 36,
                        to: at + 50,
                    })
                    .collect(),
            )
        })
        .collect();
    let jobs = (0..up_to(9))
        .map(|index| {
            let release = up_to(2) * DAY + up_to(60);
            let mut one = job(
                &format!("j{index}"),
                release,
                release + up_to(3) as Slot * DAY + 20,
            );
            one.hard_due = (release + 40 + up_to(6) * DAY).min(days * DAY);
            one.room = up_to(rooms.len() - 1) as usize;
            one.weight = i64::from(up_to(3));
            one.dose.people = 1 + (up_to(4) / 4) as usize;
            one.dose.product = (up_to(3) / 3) as usize;
            one.strip = hands(1 + up_to(9), 1 + up_to(2) as usize);
            one.inspect = hands(1 + up_to(3), 1 + (up_to(4) / 4) as usize);
            one.rinses.truncate(up_to(2) as usize);
            one.soak = Soak {
                least: up_to(14),
                lag: up_to(8),
            };
            // One in three has rinses left for its teardown.
            if up_to(2) == 0 {
                one.teardown_draws = (0..2)
                    .map(|slot| Draw {
                        slot,
                        litres: i64::from(up_to(240)),
                    })
                    .collect();
            }
            one.waits.strip_dose = up_to(DAY as usize);
            one.waits.rinse_teardown = up_to(DAY as usize);
            one.waits.teardown_inspect = up_to(40);
            // One in seven is sick, wherever chance has put it.
            one.last_in_day = (number % 7 + u64::from(index)).is_multiple_of(7);
            one
        })
        .collect();
    let (kits, initial_l) = (up_to(3) as usize, i64::from(up_to(900)));
    // One booking that stands, and takes no more than there is.
    let booked = up_to(300);
    let taken = Taken {
        draws: vec![Draw {
            slot: booked,
            litres: i64::from(up_to(initial_l as usize)),
        }],
        kits: (0..kits.min(1))
            .map(|_| Span {
                from: booked,
                to: booked + 30,
            })
            .collect(),
        work: vec![Worked {
            span: Span {
                from: booked,
                to: booked + 4,
            },
            last_in_day: number.is_multiple_of(5),
        }],
    };
    Problem {
        slot_minutes: 15,
        horizon: days * DAY,
        days: Vec::new(),
        people,
        rooms,
        crew_out: number.is_multiple_of(2),
        kits,
        water: Water {
            tank_l: 900,
            initial_l,
            rate_l_per_slot: i64::from(up_to(40)),
        },
        stocks: (0..2)
            .map(|_| Stock {
                initial_ml: 900 * i64::from(up_to(6)),
                deliveries: vec![Delivery {
                    slot: up_to(300),
                    ml: 1800,
                }],
            })
            .collect(),
        taken,
        jobs,
        prices: Prices {
            late: 4,
            overtime: 3,
        },
    }
    .check()
    .unwrap()
}

pub fn searched(problem: &Problem, number: u64, steps: u32) -> Search<'_> {
    let mut search = Search::new(problem, number);
    for _ in 0..steps {
        search.step();
    }
    search
}
