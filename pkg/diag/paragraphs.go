package diag

// Paragraphs is the help of finding codes: pairs of a code and its paragraph, which
// says what the finding means, what it guards against and what to do next. The codes
// stand in alphabetic order. Line breaks within a paragraph mean nothing.
type Paragraphs [][2]string

// Of returns the paragraph of a code; ok is false for a code that has none here.
func (p Paragraphs) Of(code string) (text string, ok bool) {
	for _, e := range p {
		if e[0] == code {
			return e[1], true
		}
	}
	return "", false
}

// Codes returns the codes in their order.
func (p Paragraphs) Codes() []string {
	out := make([]string, len(p))
	for i, e := range p {
		out[i] = e[0]
	}
	return out
}
