package proof

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/work"
)

// Encode writes the certificate as JSON, indented, with a last line feed. The
// layout is that of Certificate, version Schema: keys are added in later
// versions and never renamed. The same certificate gives the same bytes.
func (c *Certificate) Encode() ([]byte, error) {
	b, err := json.MarshalIndent(c, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write certificate: %w", err)
	}
	return append(b, '\n'), nil
}

// Recheck proves the programs again and compares the result with a certificate
// that was written earlier, byte for byte: a change of one byte in a program, in
// the certificate, or in a file that the work was made from (by its SHA-256)
// gives a finding. The name is that of the certificate's file. It returns the
// new certificate, and findings: those of the proof, and
//
//	certificate-broken   it cannot be read
//	certificate-version  it was written by another tool or layout
//	program-changed      a program is not the one that was proven
//	input-changed        an input is not the one that the job was made from
//	certificate-changed  anything else in it differs from what is proven now
//
// tool is the name and version that the certificate must carry.
func Recheck(ctx context.Context, name, tool string, certificate []byte, w *work.Work, programs []Source) (*Certificate, diag.List) {
	now, list := Prove(ctx, w, programs)
	now.Tool = tool
	list = append(diag.List(nil), list...)
	list = append(list, now.against(name, certificate)...)
	return now, list.Sorted()
}

// against holds a certificate that was written earlier against the one of now.
func (now *Certificate) against(name string, certificate []byte) (list diag.List) {
	stop := func(code, message, help string) {
		list.Add(diag.Finding{Code: code, Severity: diag.Stop, Subject: name, Message: message, Help: help})
	}
	var old Certificate
	dec := json.NewDecoder(bytes.NewReader(certificate))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&old); err != nil {
		stop("certificate-broken", "it cannot be read: "+err.Error(), "prove the job again")
		return list
	}
	if old.Schema != Schema {
		stop("certificate-version", fmt.Sprintf("its layout is version %d, this one writes %d", old.Schema, Schema), "prove the job again")
		return list
	}
	if old.Tool != now.Tool {
		stop("certificate-version", fmt.Sprintf("it was written by %s, this is %s", old.Tool, now.Tool), "prove the job again")
		return list
	}
	compareSums(&old, now, stop)
	want, err := now.Encode()
	if err != nil {
		stop("certificate-broken", err.Error(), "report this")
	} else if len(list) == 0 && !bytes.Equal(want, certificate) {
		stop("certificate-changed", "it is not what the proof says now: "+firstDifference(want, certificate), "prove the job again and compare")
	}
	return list
}

// compareSums names programs and inputs whose SHA-256 differ.
func compareSums(old, now *Certificate, stop func(code, message, help string)) {
	sums := map[string]string{}
	for _, p := range now.Programs {
		sums[p.File] = p.SHA256
	}
	for _, p := range old.Programs {
		if s, ok := sums[p.File]; !ok {
			stop("program-changed", "program "+p.File+" is missing", "give all programs of the certificate")
		} else if s != p.SHA256 {
			stop("program-changed", "program "+p.File+" is not the one that was proven", "write the program again, or prove this one")
		}
	}
	if len(old.Programs) < len(now.Programs) {
		stop("program-changed", "a program is not named in it", "give the programs of the certificate only")
	}
	inputs := map[[2]string]string{}
	for _, i := range now.Inputs {
		inputs[[2]string{i.Role, i.File}] = i.SHA256
	}
	for _, i := range old.Inputs {
		if s, ok := inputs[[2]string{i.Role, i.File}]; !ok || s != i.SHA256 {
			stop("input-changed", fmt.Sprintf("%s %s is not the one that the job was made from", i.Role, i.File), "prove the job again")
		}
	}
}

// firstDifference names the first line that differs.
func firstDifference(want, have []byte) string {
	a, b := bytes.Split(want, []byte{'\n'}), bytes.Split(have, []byte{'\n'})
	for i := range a {
		if i >= len(b) || !bytes.Equal(a[i], b[i]) {
			return fmt.Sprintf("line %d", i+1)
		}
	}
	return "its end"
}
