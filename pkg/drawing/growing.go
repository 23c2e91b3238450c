package drawing

// growing holds values in blocks, so that growing never copies them.
type growing[T any] struct {
	blocks [][]T
	n      int
}

const blockSize = 1 << 13

func (l *growing[T]) add(v T) {
	if l.n == len(l.blocks)*blockSize {
		size := blockSize
		if l.n == 0 {
			size = 64
		}
		l.blocks = append(l.blocks, make([]T, 0, size))
	}
	k := len(l.blocks) - 1
	l.blocks[k] = append(l.blocks[k], v)
	l.n++
}

func (l *growing[T]) at(i int) *T { return &l.blocks[i/blockSize][i%blockSize] }

// dropLast takes the last value away.
func (l *growing[T]) dropLast() {
	k := len(l.blocks) - 1
	l.blocks[k] = l.blocks[k][:len(l.blocks[k])-1]
	l.n--
	if len(l.blocks[k]) == 0 {
		l.blocks = l.blocks[:k]
	}
}
