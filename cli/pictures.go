package cli

import (
	"os"
	"strings"

	"github.com/spf13/cobra"

	"withybed/models/documents"
)

// pictureFiles are the files an answer is to be drawn into.
type pictureFiles struct{ svg, png string }

func (f *pictureFiles) pictureFlags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.svg, "svg", "", "draw it into this file as SVG; - is standard output")
	cmd.Flags().StringVar(&f.png, "png", "", "draw it into this file as PNG; - is standard output")
}

func (f *pictureFiles) drawn() bool { return f.svg != "" || f.png != "" }

// check refuses what does not go together.
func (f *pictureFiles) check(s *session) error {
	switch {
	case f.drawn() && s.json:
		return usagef("--json does not go with --svg and --png: ask for one of them")
	case f.svg == "-" && f.png == "-":
		return usagef("two pictures do not go to standard output: name a file for one of them")
	case f.png == "-" && s.env.Width > 0:
		return usagef("a picture is not for a terminal: name a file with --png, or pipe it on")
	}
	return nil
}

// draw draws into the files that were named.
func (f *pictureFiles) draw(s *session, picture func(documents.Format) ([]byte, error)) error {
	for _, to := range []struct {
		file   string
		format documents.Format
	}{{f.svg, documents.SVG}, {f.png, documents.PNG}} {
		if to.file == "" {
			continue
		}
		drawn, err := picture(to.format)
		if err == nil {
			err = s.writeFile("picture", drawn, to.file)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// writeFile writes what was made into a file, or onto standard output.
func (s *session) writeFile(what string, made []byte, file string) error {
	if file == "-" {
		_, err := s.out.Write(made)
		return err
	}
	if err := os.WriteFile(file, made, 0o644); err != nil {
		return usagef("the %s cannot be written: %s", what, strings.TrimPrefix(err.Error(), "open "))
	}
	s.say("The %s is written to %s.", what, file)
	return nil
}
