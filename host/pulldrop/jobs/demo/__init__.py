"""An invented depot, to see the work before the own bench stands."""
