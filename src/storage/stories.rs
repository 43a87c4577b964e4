//! Worked stories that come with the program: a scene, a question in two
//! sentences, and an answer that a test holds.

/// A story inside the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Story {
    /// What a keeper reads in a list.
    pub name: &'static str,
    /// What to find out, in two sentences.
    pub task: &'static str,
    /// Its file in `scenes/stories/`.
    pub file: &'static str,
    /// Its text.
    pub text: &'static str,
}

/// The stories, from small to large.
pub fn stories() -> &'static [Story] {
    &[
        Story {
            name: "Nano of 60 L",
            task: "The only pump blows at the mushroom, which wants no more than 12 cm/s. How far must \
                   you throttle it until the mushroom lies in its range?",
            file: "nano-60.ron",
            text: include_str!("../../scenes/stories/nano-60.ron"),
        },
        Story {
            name: "Frag tray",
            task: "Three frags of the same coral hang under one lamp, and the middle one bleaches. How \
                   much higher must the lamp hang until all three lie in range?",
            file: "frag-tray.ron",
            text: include_str!("../../scenes/stories/frag-tray.ron"),
        },
        Story {
            name: "Lagoon with sand",
            task: "The pump digs a hole into the fine bed. Which way must you aim it so that the sand \
                   lies still?",
            file: "lagoon-sand.ron",
            text: include_str!("../../scenes/stories/lagoon-sand.ron"),
        },
        Story {
            name: "Wall of 400 L",
            task: "Behind the wall the water stands still. Where on the left pane must the pump hang to \
                   reach it, with nothing bought?",
            file: "wall-400.ron",
            text: include_str!("../../scenes/stories/wall-400.ron"),
        },
        Story {
            name: "Peninsula of 1,000 L",
            task: "The table on the ridge gets too little light. By how much must the lamps come down \
                   before you think of stronger ones?",
            file: "peninsula-1000.ron",
            text: include_str!("../../scenes/stories/peninsula-1000.ron"),
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::parse;

    #[test]
    fn each_story_loads_without_a_word_and_asks_in_two_sentences() {
        for story in stories() {
            let loaded = parse(story.text, story.file).unwrap();
            assert!(
                loaded.issues.is_empty(),
                "{}: {:?}",
                story.file,
                loaded.issues
            );
            let ends = story.task.matches(['.', '?']).count();
            assert_eq!(ends, 2, "{}: {}", story.file, story.task);
        }
    }
}
