//! The flow tests that the demo's crew did before it had this server.

use super::Story;

/// Ever slower: a port clogs.
const NORTH_1_FLOODED_IN: [&str; 8] = [
    "4:14", "4:10", "4:17", "4:13", "4:22", "4:29", "4:34", "4:41",
];
/// Timed too rarely to say anything.
const SOUTH_2_FILLED_20_L_IN: [&str; 3] = ["41", "42.5", "41.6"];

impl Story {
    /// From the paper on which the crew noted it before: the one clogs, the other was timed too rarely.
    pub(super) async fn what_was_timed(&self) -> anyhow::Result<()> {
        let mut tobit = self.sign_in("tobit").await?;
        let clogs = (0..)
            .zip(NORTH_1_FLOODED_IN)
            .map(|(time, took)| ("North 1", "flood", "", took, 270 - 32 * time));
        let rare = (0..)
            .zip(SOUTH_2_FILLED_20_L_IN)
            .map(|(time, took)| ("South 2", "flow", "20", took, 200 - 60 * time));
        for (system, kind, caught, took, days_ago) in clogs.chain(rare) {
            let id = self.system(system).await?;
            let tested_on = self.day(days_ago)?.to_string();
            let fields = [
                ("kind", kind),
                ("caught", caught),
                ("took", took),
                ("water", "17"),
                ("tested_on", &tested_on),
            ];
            tobit
                .send(&format!("/systems/{id}/flow-tests"), &fields)
                .await?;
        }
        Ok(())
    }
}
