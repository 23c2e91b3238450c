package job

import (
	"fmt"
	"math"

	"sparclear/pkg/nest"
)

// Count is how many of something there are or are wanted: a number, or the word
// Many.
type Count int

// Many stands for the words "fill" (of a part: as many copies as fit) and
// "unlimited" (of a sheet: there is always one more piece).
const Many Count = math.MinInt32

// UnmarshalText reads one of the words for Many.
func (c *Count) UnmarshalText(b []byte) error {
	if w := string(b); w != "fill" && w != "unlimited" {
		return fmt.Errorf("%q is no count: give a number, \"fill\" for a part or \"unlimited\" for a sheet", w)
	}
	*c = Many
	return nil
}

// countOf is the count for nesting, where nothing said means one.
func countOf(c *Count) int {
	switch {
	case c == nil:
		return 1
	case *c == Many:
		return nest.Fill // nest.Unlimited is the same number
	}
	return int(*c)
}
