package api

import (
	"github.com/danielgtaylor/huma/v2"

	"withybed/models/documents"
)

const (
	svgType = "image/svg+xml"
	pngType = "image/png"
)

// givesPicture is an operation that answers T as JSON, or drawn.
func givesPicture[T any](s *Surface, op huma.Operation) huma.Operation {
	return givesAlso[T](s, op, map[string]*huma.Schema{svgType: asText, pngType: asBinary})
}

// orDrawn answers as JSON, or as a picture where that is wanted.
func orDrawn(a Accepting, answer any, draw func(documents.Format) ([]byte, error)) (*inType, error) {
	return answerIn(a, answer, map[string]func() ([]byte, error){
		svgType: func() ([]byte, error) { return draw(documents.SVG) },
		pngType: func() ([]byte, error) { return draw(documents.PNG) },
	})
}
