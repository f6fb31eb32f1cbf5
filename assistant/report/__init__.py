"""The hand-over of a recorded incident."""
