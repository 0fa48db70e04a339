#!/bin/sh
# Which panels meet bays of 120 mm soon? One run for each pitch; the exit status is the verdict:
# 0 nothing to stop for, 1 stop, more than 1 could not be answered.
for panel in 100 102.8 105 110; do
  printf '{"pitches": [{"id": "bay", "pitch_mm": 120, "play_per_seat_mm": 0.15},
                       {"id": "panel", "pitch_mm": %s}]}' "$panel" |
    baywright run floor-tiling-ratio - --json > "panel-$panel.json"
  status=$?
  case $status in
    0) echo "panels of $panel mm: fine" ;;
    1) echo "panels of $panel mm: stop" ;;
    *) echo "panels of $panel mm: no answer" ; exit $status ;;
  esac
done
