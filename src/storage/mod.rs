//! Files: the only place that touches the disk.
