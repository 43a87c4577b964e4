//! What a finding is about, how bad and how sure.

/// Gives each variant its stable tag, and lists all of them.
macro_rules! tagged {
    ($(#[$meta:meta])* $name:ident { $($(#[$doc:meta])* $variant:ident = $tag:literal,)* }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $name {
            $($(#[$doc])* $variant,)*
        }

        impl $name {
            /// All of them, in their order.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// Its stable name, for scripts and tables.
            pub const fn tag(self) -> &'static str {
                match self {
                    $(Self::$variant => $tag,)*
                }
            }
        }
    };
}

pub(crate) use tagged;

tagged! {
    /// What a finding is about.
    Kind {
        /// A rock that may not stand.
        Standing = "standing",
        /// Something in the scene that keeps the estimate from being right.
        Setup = "setup",
        /// A lamp, or all of them, too bright or too dim for most corals.
        LampLevel = "lamp_level",
        /// A pump too strong or too weak for most corals.
        PumpLevel = "pump_level",
        /// A coral outside its range of light.
        CoralLight = "coral_light",
        /// A coral outside its range of flow.
        CoralFlow = "coral_flow",
        /// A coral too close to a neighbor.
        CoralRoom = "coral_room",
        /// A coral held in a way that will not do.
        CoralMount = "coral_mount",
        /// What growth will bring.
        Growth = "growth",
        /// Connected water slower than the limit.
        DeadSpot = "dead_spot",
        /// Water in which several runs of the tank go different ways.
        MayFlip = "may_flip",
        /// Sand that the flow may move.
        SandMoves = "sand_moves",
        /// Rock or sand surface that gets little light.
        Shade = "shade",
        /// Something that an animal does or misses.
        Animal = "animal",
        /// A caution for people that an item brings with it.
        Caution = "caution",
    }
}

tagged! {
    /// How bad a finding is; later is worse.
    Severity {
        /// Good to know.
        Note = "note",
        /// Worth a change.
        Warning = "warning",
        /// Will hurt something.
        Serious = "serious",
    }
}

tagged! {
    /// How sure the estimate is; later is surer.
    Certainty {
        /// Worth a look at the tank.
        Check = "check",
        /// More likely than not.
        Likely = "likely",
        /// Would surprise if it were not so.
        Sure = "sure",
    }
}
