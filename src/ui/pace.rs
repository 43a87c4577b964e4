//! How often things may move by themselves, and when they stop: after some
//! seconds without the hand, on battery, and where nothing should move.

use std::sync::Arc;
use std::time::Duration;

use egui::{Context, Event};

use crate::job::{Job, Notify, Update};
use crate::storage::{is_on_battery, wants_less_motion};

/// Seconds without the hand after which nothing moves by itself.
pub const REST_AFTER_S: f64 = 8.0;
/// Frames a second of what drifts, with a graphics card.
const RATE_CARD: f32 = 30.0;
/// The same where the processor draws.
const RATE_PROCESSOR: f32 = 6.0;
/// Least rest between frames, in times of what a frame takes.
const REST_SHARE: f32 = 6.0;
/// Seconds between two looks at the battery.
const BATTERY_EVERY_S: f64 = 20.0;

/// What may move now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Seconds between frames of what drifts; none where nothing does.
    pub frame_s: Option<f32>,
}

/// Nothing moves by itself.
pub const STILL: Motion = Motion { frame_s: None };

/// Keeps the pace.
pub struct Pace {
    is_drawn_by_processor: bool,
    last_hand_s: f64,
    looked_at_s: f64,
    is_on_battery: bool,
    less_motion: bool,
    asking: Option<Job<bool>>,
    is_resting: bool,
}

impl Pace {
    /// The pace of a window. With `notify` the system is asked for its settings.
    pub fn new(is_drawn_by_processor: bool, notify: Option<&Notify>) -> Self {
        let asking = notify.map(|notify| {
            let job = Job::start("desktop settings", Arc::clone(notify), |context| {
                context.publish(wants_less_motion());
                Ok(())
            });
            job.ok()
        });
        Self {
            is_drawn_by_processor,
            last_hand_s: 0.0,
            looked_at_s: f64::NEG_INFINITY,
            is_on_battery: false,
            less_motion: false,
            asking: asking.flatten(),
            is_resting: false,
        }
    }

    /// Takes in the hand and the clock. `frame_s` is what the last frame took.
    /// Call once a frame.
    pub fn tend(&mut self, ctx: &Context, frame_s: f32, is_still: bool) -> Motion {
        if let Some(job) = &mut self.asking {
            for update in job.poll() {
                if let Update::Partial(less_motion) = update {
                    self.less_motion = less_motion;
                }
            }
            if job.is_over() {
                self.asking = None;
            }
        }
        let (now_s, has_hand) = ctx.input(|input| (input.time, has_hand(&input.events)));
        if has_hand {
            self.last_hand_s = now_s;
        }
        if now_s - self.looked_at_s > BATTERY_EVERY_S {
            self.looked_at_s = now_s;
            self.is_on_battery = is_on_battery();
        }
        let left_s = self.last_hand_s + REST_AFTER_S - now_s;
        self.rest(ctx, left_s <= 0.0);
        let is_still = is_still || self.less_motion || self.is_on_battery || left_s <= 0.0;
        if left_s > 0.0 {
            // One more frame when the time has come, to settle in.
            ctx.request_repaint_after(Duration::from_secs_f64(left_s + 0.02));
        }
        Motion {
            frame_s: (!is_still).then(|| self.frame_s(frame_s)),
        }
    }

    fn frame_s(&self, frame_s: f32) -> f32 {
        let rate = if self.is_drawn_by_processor {
            RATE_PROCESSOR
        } else {
            RATE_CARD
        };
        (1.0 / rate).max(frame_s * REST_SHARE).min(1.0)
    }

    /// A caret blinks while the hand is there; at rest it stands.
    fn rest(&mut self, ctx: &Context, is_resting: bool) {
        if self.is_resting != is_resting {
            self.is_resting = is_resting;
            ctx.all_styles_mut(|style| style.visuals.text_cursor.blink = !is_resting);
        }
    }
}

/// Whether any of these comes from the keeper's hand.
fn has_hand(events: &[Event]) -> bool {
    events
        .iter()
        .any(|event| !matches!(event, Event::WindowFocused(_) | Event::PointerGone))
}
