"""Many variants of one machine: kept on disk, run in worker processes, lost never."""
