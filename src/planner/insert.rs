//! The best place of one whole job among the rest.
//!
//! A dynamic programme runs backwards over the chain strip, dose, rinses, teardown, inspect: the cost of
//! starting a phase at `t` is its own cost there plus the least cost of the next phase within the wait
//! allowed. The least costs over a sliding window come from a monotone queue, so a job costs time linear
//! in the slots of its window. People are named here, never afterwards.
//!
//! The tank couples draws that the programme sees apart. Dosing and rinses, which stand close, are asked
//! about together, and where the teardown draws too, it with the rinses and with the fresh fill. If the fresh
//! fill then does not fit with them, its slot is left out and the job is placed again, a limited number of
//! times: only with a tank hardly larger than one job's water can a place be missed.

mod people;

use super::bits::{Runs, each_slot, in_words, keep_later};
use super::chance::Chance;
use super::farm::{Farm, Task, draws, rinsed, tasks, team, torn_down};
use super::join::{Candidate, join, join_wet};
use super::plan::Placement;
use super::problem::{Job, Slot};

/// One unit of cost, so that what decides between equals stays below it.
const UNIT: i64 = 1 << 14;
/// No chain costs as much: what cannot be done, kept small enough that five of them can be added.
const NEVER: i64 = i64::MAX / 16;
/// How often a place whose draws do not fit together is looked for anew.
const TRIES: usize = 24;

/// What decides between places that cost the same, and how much a place may seem to cost more.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Taste {
    /// Costs are blurred by up to this many units.
    pub blur: i64,
    /// Rather early (positive) or rather late (negative).
    pub early: i64,
    /// Between places that cost the same the lean decides, not chance: no wait without a reason.
    pub settled: bool,
    /// Keep the people who may handle concentrate for the dosing.
    pub spare: bool,
    /// An earlier place and what leaving its day costs.
    pub home: Option<([Slot; 5], i64)>,
}

/// A need for people: how long, how many, with which skill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Need {
    length: Slot,
    people: usize,
    concentrate: bool,
}

/// Where enough people are free: by count, and with regular hours alone.
#[derive(Debug, Default)]
struct Able {
    all: Vec<Vec<u64>>,
    regular: Vec<Vec<u64>>,
}

/// Working memory, kept from one insertion to the next.
#[derive(Debug, Default)]
pub(super) struct Inserter {
    needs: Vec<Need>,
    able: Vec<Able>,
    runs: Runs,
    starts: Vec<u64>,
    regular: Vec<u64>,
    open: Vec<u64>,
    stages: [Vec<Candidate>; 5],
    queue: Vec<u32>,
    drawn: Vec<(Slot, i64)>,
    /// By phase.
    banned: Vec<(usize, Slot)>,
    costs: Vec<(i64, u16)>,
}

impl Inserter {
    /// The cheapest placement of a job that costs less than `limit`, or none.
    pub fn best(
        &mut self,
        farm: &Farm<'_>,
        index: usize,
        limit: i64,
        taste: Taste,
        chance: &mut Chance,
    ) -> Option<Placement> {
        let job = &farm.problem.jobs[index];
        let late = (farm.problem.prices.late * job.weight).max(1);
        let quickest = job.strip.duration + job.dose.duration + job.soak.least + job.rinsing();
        let quickest = job.release + quickest + job.teardown.duration + job.inspect.duration;
        // A job that ends after this costs the limit or more by its lateness alone.
        let last = i64::from(job.due).saturating_add((limit - 1).max(0) / late);
        let last = Slot::try_from(last).unwrap_or(Slot::MAX).min(job.hard_due);
        if farm.problem.prices.late * job.weight == 0 {
            let found = self.within(farm, index, job.hard_due, taste, chance);
            return found.filter(|place| place.cost < limit);
        }
        let day = farm.problem.day();
        let mut end = job.due.max(quickest).min(last);
        let mut step = day;
        loop {
            let found = self.within(farm, index, end, taste, chance);
            if let Some(place) = found {
                // Whatever ends later than `end` costs at least this much.
                let beyond = late * i64::from((end + 1).saturating_sub(job.due));
                if place.cost <= beyond || end >= last {
                    return Some(place).filter(|place| place.cost < limit);
                }
                let enough = i64::from(job.due) + place.cost / late;
                end = Slot::try_from(enough)
                    .unwrap_or(Slot::MAX)
                    .clamp(end + 1, last);
            } else {
                if end >= last {
                    return None;
                }
                end = (end + step).min(last);
                step *= 2;
            }
        }
    }

    /// The cheapest placement that ends by `end`.
    fn within(
        &mut self,
        farm: &Farm<'_>,
        index: usize,
        end: Slot,
        taste: Taste,
        chance: &mut Chance,
    ) -> Option<Placement> {
        let job = &farm.problem.jobs[index];
        let least = [
            job.strip.duration,
            job.dose.duration + job.soak.least,
            job.rinsing(),
            job.teardown.duration,
        ];
        let mut first = [job.release; 5];
        for stage in 1..5 {
            first[stage] = first[stage - 1] + least[stage - 1];
        }
        first[1] = first[1].max(farm.stock_from(job)?);
        for stage in 2..5 {
            first[stage] = first[stage].max(first[stage - 1] + least[stage - 1]);
        }
        let mut last = [end.checked_sub(job.inspect.duration)?; 5];
        for stage in (0..4).rev() {
            last[stage] = last[stage + 1].checked_sub(least[stage])?;
        }
        if (0..5).any(|stage| first[stage] > last[stage]) {
            return None;
        }
        let begin = first[0] as usize / 64;
        self.people(farm, job, begin, end);
        let most = [
            job.strip.duration + job.waits.strip_dose,
            job.dose.duration + job.soak.least + job.soak.lag,
            job.rinsing() + job.waits.rinse_teardown,
            job.teardown.duration + job.waits.teardown_inspect,
        ];
        self.banned.clear();
        let mut found = None;
        for again in 0..TRIES {
            self.candidates(farm, job, begin, first, last, taste, chance);
            let [strip, dose, rinse, teardown, inspect] = &mut self.stages;
            let banned = &self.banned;
            teardown.retain(|last| !banned.contains(&(3, last.at)));
            inspect.retain(|last| !banned.contains(&(4, last.at)));
            let drawn = &mut self.drawn;
            if job.teardown_draws.is_empty() {
                join(teardown, inspect, least[3], most[3], &mut self.queue);
                join(rinse, teardown, least[2], most[2], &mut self.queue);
            } else {
                let window = (least[3], most[3]);
                join_wet(
                    farm,
                    teardown,
                    inspect,
                    window,
                    drawn,
                    |from, last, drawn| {
                        drawn.extend(torn_down(job, from));
                        drawn.push((last, job.fill_l));
                    },
                );
                let window = (least[2], most[2]);
                join_wet(farm, rinse, teardown, window, drawn, |from, last, drawn| {
                    drawn.extend(rinsed(job, from));
                    drawn.extend(torn_down(job, last));
                });
            }
            join_wet(
                farm,
                dose,
                rinse,
                (least[1], most[1]),
                drawn,
                |from, rinse, drawn| {
                    drawn.push((from, job.dose.water_l));
                    drawn.extend(rinsed(job, rinse));
                },
            );
            join(strip, dose, least[0], most[0], &mut self.queue);
            let Some(starts) = self.follow() else {
                break;
            };
            draws(job, starts, &mut self.drawn);
            if farm.tank.fits(&self.drawn) {
                found = Some(starts);
                break;
            }
            // By turns, where the teardown draws too.
            let stage = match job.teardown_draws.is_empty() || again % 2 == 0 {
                true => 4,
                false => 3,
            };
            self.banned.push((stage, starts[stage]));
        }
        let starts = found?;
        let mut place = Placement {
            starts,
            crew: Vec::with_capacity(8),
            cost: 0,
        };
        for task in tasks(job, starts) {
            self.name(farm, task, taste, chance, &mut place.crew)?;
        }
        place.cost = farm.cost(index, &place);
        Some(place)
    }

    /// Lists the starts that each phase could have by itself, with their own cost.
    #[allow(clippy::too_many_arguments, reason = "private, and each is used once")]
    fn candidates(
        &mut self,
        farm: &Farm<'_>,
        job: &Job,
        begin: usize,
        first: [Slot; 5],
        last: [Slot; 5],
        taste: Taste,
        chance: &mut Chance,
    ) {
        let problem = farm.problem;
        let price = problem.prices.overtime;
        let whole_water = job.drawn();
        let costs = &mut self.costs;
        let mut fuzz = |stage: usize, at: Slot| {
            let spread = match taste.blur {
                0 if taste.settled => 0,
                0 => 128,
                blur => blur * UNIT,
            };
            let noise = chance.below(usize::try_from(spread).unwrap_or(0)) as i64;
            let lean = taste.early * i64::from(at - first[0]);
            let away = taste.home.map_or(0, |(home, price)| {
                let moved = problem.day_of(home[stage]) != problem.day_of(at);
                let shifted = i64::from(home[stage] != at);
                if moved {
                    price * UNIT / 5
                } else {
                    shifted * UNIT / 8
                }
            });
            noise + lean + away
        };
        let mut overtime = |need: Need, at: Slot| {
            let task = Task {
                from: at,
                to: at + need.length,
                people: need.people,
                concentrate: need.concentrate,
            };
            let team = team(&farm.people, task, costs, |hours| {
                hours.overtime(task.from, task.to)
            });
            team.map_or(NEVER, |cost| cost * price * UNIT)
        };
        for (stage, need) in [(0, 0), (3, 2), (4, 3)] {
            let (need, able) = (self.needs[need], &self.able[need]);
            let level = need.people - 1;
            let list = &mut self.stages[stage];
            let drawn = &mut self.drawn;
            list.clear();
            each_slot(&able.all[level], begin, first[stage], last[stage], |at| {
                if !farm.may_work(job, at, at + need.length) {
                    return;
                }
                let mut cost = fuzz(stage, at);
                let mut easy = true;
                if !in_words(&able.regular[level], begin, at) {
                    cost += overtime(need, at);
                }
                if stage == 3 && !job.teardown_draws.is_empty() {
                    drawn.clear();
                    drawn.extend(torn_down(job, at));
                    easy = drawn
                        .iter()
                        .all(|draw| farm.tank.room(draw.0) >= whole_water);
                    if !easy && !farm.tank.fits(drawn) {
                        return;
                    }
                }
                if stage == 4 {
                    let room = farm.tank.room(at);
                    if room < job.fill_l {
                        return;
                    }
                    easy = room >= whole_water;
                    let late = i64::from((at + need.length).saturating_sub(job.due));
                    cost += farm.problem.prices.late * job.weight * late * UNIT;
                }
                list.push(Candidate {
                    at,
                    cost,
                    next: 0,
                    easy,
                });
            });
        }

        // The dosing: somebody who may, the room closed to others, a kit unit.
        let until = self.able[1].all[0].len() + begin;
        let room = &farm.rooms.open[job.room].words;
        let closed = job.dose.duration + job.dose.airing;
        let reach = (until + closed as usize / 64 + 1).min(room.len());
        self.runs.of(&room[begin..reach], closed);
        self.runs.starts(closed, &mut self.open);
        self.open.truncate(until - begin);
        for (open, able) in self.open.iter_mut().zip(&self.able[1].all[0]) {
            *open &= able;
        }
        let kit = &farm.kit_left.words;
        let reach = (until + job.kit_held() as usize / 64 + 1).min(kit.len());
        self.runs.of(&kit[begin..reach], job.kit_held());
        self.runs.starts(job.kit_held(), &mut self.starts);
        for (open, kit) in self.open.iter_mut().zip(&self.starts) {
            *open &= kit;
        }
        // Those who stand by are the last of the needs.
        let beside = (job.dose.people > 1)
            .then(|| &self.able[self.needs.len() - 1])
            .map(|able| (able, job.dose.people - 1));
        if let Some((able, level)) = beside {
            for (open, able) in self.open.iter_mut().zip(&able.all[level]) {
                *open &= able;
            }
        }
        let able = &self.able[1];
        let need = Need {
            people: job.dose.people,
            ..self.needs[1]
        };
        let list = &mut self.stages[1];
        list.clear();
        each_slot(&self.open, begin, first[1], last[1], |at| {
            let left = farm.tank.room(at);
            if left < job.dose.water_l || !farm.may_work(job, at, at + job.dose.duration) {
                return;
            }
            let mut cost = fuzz(1, at);
            let regular = in_words(&able.regular[0], begin, at)
                && beside.is_none_or(|(able, level)| in_words(&able.regular[level], begin, at));
            if !regular {
                cost += overtime(need, at);
            }
            list.push(Candidate {
                at,
                cost,
                next: 0,
                easy: left >= whole_water,
            });
        });

        // The rinses: somebody at the start of each.
        self.open.clear();
        self.open.resize(until - begin, u64::MAX);
        let needs = &self.needs;
        let able = &self.able;
        let hands = |length: Slot| {
            needs[4..]
                .iter()
                .position(|need| need.length == length)
                .map_or((needs[0], &able[0]), |index| {
                    (needs[index + 4], &able[index + 4])
                })
        };
        let mut offset = 0;
        for rinse in &job.rinses {
            keep_later(
                &mut self.open,
                &hands(rinse.hands_on).1.all[0],
                offset as usize,
            );
            offset += rinse.duration;
        }
        let list = &mut self.stages[2];
        list.clear();
        let drawn = &mut self.drawn;
        each_slot(&self.open, begin, first[2], last[2], |at| {
            let mut cost = fuzz(2, at);
            let mut easy = true;
            let mut start = at;
            drawn.clear();
            for rinse in &job.rinses {
                if !farm.may_work(job, start, start + rinse.hands_on) {
                    return;
                }
                easy &= farm.tank.room(start) >= whole_water;
                drawn.push((start, rinse.water_l));
                let (need, able) = hands(rinse.hands_on);
                if !in_words(&able.regular[0], begin, start) {
                    cost += overtime(need, start);
                }
                start += rinse.duration;
            }
            if easy || farm.tank.fits(drawn) {
                list.push(Candidate {
                    at,
                    cost,
                    next: 0,
                    easy,
                });
            }
        });
    }

    /// The cheapest chain, from the joined stages.
    fn follow(&self) -> Option<[Slot; 5]> {
        let mut best = *self.stages[0]
            .iter()
            .min_by_key(|candidate| candidate.cost)?;
        if best.cost >= NEVER {
            return None;
        }
        let mut starts = [best.at; 5];
        for (start, stage) in starts[1..].iter_mut().zip(&self.stages[1..]) {
            best = stage[best.next as usize];
            *start = best.at;
        }
        Some(starts)
    }

    /// Names the people of one task: least overtime first, then as the taste has it.
    fn name(
        &mut self,
        farm: &Farm<'_>,
        task: Task,
        taste: Taste,
        chance: &mut Chance,
        crew: &mut Vec<u16>,
    ) -> Option<()> {
        team(&farm.people, task, &mut self.costs, |hours| {
            let skilled = !task.concentrate && hours.concentrate && taste.spare;
            let rank = chance.below(256) as i64 + if skilled { 256 } else { 0 };
            hours.overtime(task.from, task.to) * 1024 + rank
        })?;
        crew.extend(self.costs.iter().map(|cost| cost.1));
        Some(())
    }
}
