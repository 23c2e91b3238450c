// Command sparclear turns 2D outlines into proven RS-274 programs for a
// three-axis router.
package main

import (
	"os"

	"sparclear/internal/cli"
)

func main() { os.Exit(cli.Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
