// Command offsetbench offsets one outline file, for side-by-side runs with
// other offset programs:
//
//	offsetbench IN D TOL OUT REPEAT
//
// IN and OUT hold one contour a line as "x y bulge" triples, mm, outer contours
// counter-clockwise, holes clockwise; # begins a comment. It prints the best
// time of REPEAT runs, from contours in memory to regions in memory.
package main

import (
	"bufio"
	"fmt"
	"os"
	"runtime"
	"strconv"
	"strings"
	"time"

	"sparclear/pkg/geom"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "offsetbench:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 5 {
		return fmt.Errorf("want IN D TOL OUT REPEAT")
	}
	d, err := strconv.ParseFloat(args[1], 64)
	if err != nil {
		return err
	}
	tol, err := strconv.ParseFloat(args[2], 64)
	if err != nil {
		return err
	}
	repeat, err := strconv.Atoi(args[4])
	if err != nil {
		return err
	}
	gs, err := read(args[0])
	if err != nil {
		return err
	}
	runtime.GC()
	var out []geom.Region
	best := time.Duration(1<<63 - 1)
	spent := time.Duration(0)
	for i := 0; i < repeat || repeat > 1 && spent < 30*time.Millisecond; i++ {
		t := time.Now()
		o, err := geom.NewOffsetter(gs...)
		if err == nil {
			out, err = o.Offset(d, tol)
		}
		if err != nil {
			return err
		}
		e := time.Since(t)
		best = min(best, e)
		spent += e
	}
	verts, contours, err := write(args[3], out)
	if err != nil {
		return err
	}
	fmt.Printf("ms=%.6g verts=%d contours=%d peakkb=%d\n", best.Seconds()*1e3, verts, contours, peakKB())
	return nil
}

// read returns the outer contours as regions. All holes go to the first one: the
// offset of all together does not ask which hole belongs where.
func read(name string) ([]geom.Region, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var gs []geom.Region
	var holes []geom.Contour
	sc := bufio.NewScanner(f)
	sc.Buffer(make([]byte, 1<<20), 1<<30)
	for sc.Scan() {
		t := strings.TrimSpace(sc.Text())
		if t == "" || t[0] == '#' {
			continue
		}
		w := strings.Fields(t)
		c := make(geom.Contour, len(w)/3)
		for i := range c {
			var v [3]float64
			for k := range v {
				if v[k], err = strconv.ParseFloat(w[3*i+k], 64); err != nil {
					return nil, err
				}
			}
			c[i] = geom.Vertex{Point: geom.Pt(v[0], v[1]), Bulge: v[2]}
		}
		if c.Area() < 0 {
			holes = append(holes, c)
			continue
		}
		gs = append(gs, geom.Region{Outer: c})
	}
	if len(gs) == 0 {
		return nil, fmt.Errorf("%s: no outer contour", name)
	}
	gs[0].Holes = holes
	return gs, sc.Err()
}

func write(name string, gs []geom.Region) (verts, contours int, err error) {
	f, err := os.Create(name)
	if err != nil {
		return 0, 0, err
	}
	w := bufio.NewWriter(f)
	for _, g := range gs {
		for _, c := range g.Contours() {
			contours++
			verts += len(c)
			for _, v := range c {
				fmt.Fprintf(w, "%v %v %v ", v.X, v.Y, v.Bulge)
			}
			fmt.Fprintln(w)
		}
	}
	if err := w.Flush(); err != nil {
		return 0, 0, err
	}
	return verts, contours, f.Close()
}

// peakKB is the peak resident memory, 0 where the system does not tell.
func peakKB() int {
	b, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for l := range strings.SplitSeq(string(b), "\n") {
		if v, ok := strings.CutPrefix(l, "VmHWM:"); ok {
			n, _ := strconv.Atoi(strings.Fields(v)[0])
			return n
		}
	}
	return 0
}
