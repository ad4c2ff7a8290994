package sweep

import "farhail/signal/air"

// Plants are what stands between a searcher and a target.
type Plants = air.Plants
