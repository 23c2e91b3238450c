// Package profiles carries the machines, cutters and materials that come with the
// program, as TOML files. It holds no code beyond the embedding; package shop
// reads them:
//
//	lib, findings := shop.Load(profiles.Files)
package profiles

import "embed"

// Files holds the *.toml files of this folder.
//
//go:embed *.toml
var Files embed.FS
