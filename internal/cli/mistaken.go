package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"sparclear/pkg/diag"
)

// fileKinds tells by its ending what a file is meant to be, and who reads it.
var fileKinds = map[string][2]string{
	".dxf": {"drawing", "sparclear look %s"}, ".svg": {"drawing", "sparclear look %s"},
	".toml": {"job", "sparclear check %s"},
	".nc":   {"program", "sparclear prove JOB %s"}, ".ngc": {"program", "sparclear prove JOB %s"}, ".tap": {"program", "sparclear prove JOB %s"},
	".csv": {"list", "[skin] heights or sparclear measure JOB --read %s"},
	".pdf": {"document", ""}, ".json": {"certificate", "sparclear prove JOB PROGRAM --certificate %s"},
}

// mistaken tells of a folder, or of a file of another kind than is asked for: a job,
// a drawing or a program. It is nil where nothing speaks against the file.
func mistaken(file, want string) *diag.Finding {
	f := diag.Finding{Code: "file-mistaken", Severity: diag.Stop, Input: true, Subject: filepath.ToSlash(file)}
	if st, err := os.Stat(file); err == nil && st.IsDir() {
		f.Message, f.Help = fmt.Sprintf("is a folder, a %s is asked for", want), "name the file in it"
		inside := filepath.Join(file, "job.toml")
		if _, err := os.Stat(inside); err == nil && want == "job" {
			f.Help = "name the job in it: " + filepath.ToSlash(inside)
		}
		return &f
	} else if err != nil {
		return nil // said where it is opened
	}
	kind, known := fileKinds[strings.ToLower(filepath.Ext(file))]
	if !known || kind[0] == want {
		return nil
	}
	f.Message, f.Help = fmt.Sprintf("is a %s by its name, a %s is asked for", kind[0], want), "name the "+want
	if kind[1] != "" {
		f.Help += "; a " + kind[0] + " is read by " + fmt.Sprintf(kind[1], filepath.ToSlash(file))
	}
	return &f
}

// unreadable says in plain words why a file could not be opened.
func unreadable(code, file string, err error) diag.Finding {
	why, help := "cannot be read: "+err.Error(), "check the name"
	switch {
	case errors.Is(err, fs.ErrNotExist):
		why = "there is no such file"
	case errors.Is(err, fs.ErrPermission):
		why, help = "no permission to read it", "check its permissions"
	}
	return diag.Finding{Code: code, Severity: diag.Stop, Input: true, Subject: filepath.ToSlash(file), Message: why, Help: help}
}
