package drawing

// tidy removes what is drawn twice.
func (w *layerWork) tidy(curves []int32) {}

// crossings finds where loops cross.
func (w *layerWork) crossings() {}
