package tune

import "footfall/harmony"

// Fault is one thing that is wrong with a tune's text.
type Fault = harmony.Fault

// Faults are all the faults of a text.
type Faults = harmony.Faults
