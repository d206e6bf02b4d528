// Command withy keeps wild stands within what they can spare, and follows each
// batch of cuttings from the cut to the pot.
package main

import (
	"context"
	"os"

	"withybed/cli"
)

func main() { os.Exit(cli.Run(context.Background(), cli.System())) }
