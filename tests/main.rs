//! Tests of the main job.
