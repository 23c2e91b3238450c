// Package demo holds the two demo jobs with their drawings: a scenario of our
// own, for showing and for tests, never a check value.
package demo

import (
	"embed"
	"io/fs"
)

//go:embed files
var files embed.FS

// Files holds wing/ and sheet/, each with job.toml and what it names.
var Files = sub()

func sub() fs.FS {
	f, err := fs.Sub(files, "files")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	return f
}
