package drawing

import (
	"encoding/xml"
	"io"
)

// svgNode is an element with what it holds.
type svgNode struct {
	name string
	attr []svgAttr
	kids []*svgNode
	line int
}

type svgAttr struct{ name, value string }

// get returns the value of an attribute, the last where it stands twice, "" when
// it is not there.
func (n *svgNode) get(name string) string {
	for i := len(n.attr) - 1; i >= 0; i-- {
		if n.attr[i].name == name {
			return n.attr[i].value
		}
	}
	return ""
}

// counted lets what inserts may make grow with what is read.
type counted struct {
	r io.Reader
	n *int
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	*c.n += n
	return n, err
}

// drawnElements are the elements that hold or carry outlines; passed holds
// those that never do and need no remark.
var drawnElements = map[string]bool{
	"svg": true, "g": true, "a": true, "defs": true, "symbol": true, "use": true, "switch": true, "path": true,
	"rect": true, "circle": true, "ellipse": true, "line": true, "polyline": true, "polygon": true,
}

var passedElements = map[string]bool{
	"title": true, "desc": true, "metadata": true, "namedview": true, "linearGradient": true,
	"radialGradient": true, "filter": true, "marker": true, "pattern": true, "clipPath": true, "mask": true, "script": true,
}

// parse reads the elements into a tree; everything else is passed over.
func (s *svgReader) parse(r io.Reader) (*svgNode, error) {
	dec := xml.NewDecoder(&counted{r, &s.b.budget})
	dec.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	var stack []*svgNode
	var root *svgNode
	for {
		t, err := dec.Token()
		if err == io.EOF {
			if root == nil {
				return nil, errNotSVG
			}
			return root, nil
		}
		if err != nil {
			if root == nil && len(stack) == 0 {
				return nil, errNotSVG
			}
			return nil, err
		}
		switch e := t.(type) {
		case xml.StartElement:
			if len(stack) > svgDepth {
				return nil, errSVGDepth
			}
			if e.Name.Local == "style" {
				if err := s.rules.take(dec); err != nil {
					return nil, err
				}
				continue
			}
			if !drawnElements[e.Name.Local] {
				if root != nil && !passedElements[e.Name.Local] {
					tallied(s.b.skipped, safeKind(e.Name.Local))
				}
				if err := dec.Skip(); err != nil {
					return nil, err
				}
				continue
			}
			line, _ := dec.InputPos()
			n := &svgNode{name: e.Name.Local, line: line}
			for _, a := range e.Attr {
				n.attr = append(n.attr, svgAttr{a.Name.Local, a.Value})
			}
			if len(stack) > 0 {
				p := stack[len(stack)-1]
				p.kids = append(p.kids, n)
			} else if root == nil {
				if n.name != "svg" {
					return nil, errNotSVG
				}
				root = n
			}
			stack = append(stack, n)
		case xml.EndElement:
			if len(stack) > 0 {
				stack = stack[:len(stack)-1]
			}
		}
	}
}
