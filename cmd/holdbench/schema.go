package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"holdbench/report/result"
)

func schemaCommand(*int) *cobra.Command {
	return &cobra.Command{
		Use:   "schema result",
		Short: "Print the JSON Schema of a file that the program writes",
		Args:  oneArgument("the file's kind, result"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if args[0] != "result" {
				return fmt.Errorf("schema: found %q, want result", args[0])
			}
			_, err := cmd.OutOrStdout().Write(result.Schema())
			return fault(err)
		},
	}
}
