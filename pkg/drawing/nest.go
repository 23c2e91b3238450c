package drawing

import "sparclear/pkg/geom"

// nest returns for each loop the smallest loop around it (-1 for none) and how
// many are around it. Loops come in falling size.
func nest(loops []loop) (parent, depth []int) {
	parent, depth = make([]int, len(loops)), make([]int, len(loops))
	boxes := make([]geom.Box, len(loops))
	for i := range loops {
		boxes[i] = loops[i].c.Bounds()
		parent[i] = -1
		p := loops[i].c.Seg(0).Mid()
		for k := i - 1; k >= 0; k-- {
			if boxes[k].Contains(p) && loops[k].c.Winding(p) != 0 {
				parent[i], depth[i] = k, depth[k]+1
				break
			}
		}
	}
	return parent, depth
}
