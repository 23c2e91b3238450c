//go:build !unix

package nest

import "time"

// processorTime is not known here: the clock stands in for it.
func processorTime() time.Duration { return time.Duration(time.Now().UnixNano()) }
