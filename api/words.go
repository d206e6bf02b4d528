package api

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/validation"
	"github.com/gin-gonic/gin"
)

// missing ends the words of huma for a field that is not there; shape.go moves
// the fault from the object around it to the field.
const missing = " is missing"

// huma and gin keep these settings in package variables, so they are the same
// for every server in the process and are set once, before any is made. Each
// message follows the name of the field: "stems_cut must be a whole number".
func init() {
	gin.SetMode(gin.ReleaseMode)
	huma.ValidateStrictCasing = true
	huma.DefaultArrayNullable = false
	huma.ErrorFormatter = plainly
	huma.NewError = func(status int, msg string, errs ...error) huma.StatusError {
		return newProblem(context.Background(), shapeError(status, msg, errs))
	}
	huma.NewErrorWithContext = func(ctx huma.Context, status int, msg string, errs ...error) huma.StatusError {
		return newProblem(ctx.Context(), shapeError(status, msg, errs))
	}

	validation.MsgUnexpectedProperty = "is not a field here: look at its spelling and its case"
	validation.MsgExpectedRequiredProperty = "%s" + missing
	validation.MsgExpectedDependentRequiredProperty = "%s must be given where %s is"
	validation.MsgExpectedBoolean = "must be true or false"
	validation.MsgExpectedNumber = "must be a number"
	validation.MsgExpectedInteger = "must be a whole number"
	validation.MsgExpectedString = "must be text"
	validation.MsgExpectedArray = "must be a list"
	validation.MsgExpectedObject = "must be an object, with fields"
	validation.MsgExpectedArrayItemsUnique = "must not name the same thing twice"
	validation.MsgExpectedOneOf = "must be one of: %s"
	validation.MsgExpectedMinimumNumber = "must be %v or more"
	validation.MsgExpectedExclusiveMinimumNumber = "must be more than %v"
	validation.MsgExpectedMaximumNumber = "must be %v or less"
	validation.MsgExpectedExclusiveMaximumNumber = "must be less than %v"
	validation.MsgExpectedNumberBeMultipleOf = "must be a multiple of %v"
	validation.MsgExpectedMinLength = "must have at least this many characters: %d"
	validation.MsgExpectedMaxLength = "must have at most this many characters: %d"
	validation.MsgExpectedBePattern = "must be %s"
	validation.MsgExpectedMatchPattern = "must match the pattern %s"
	validation.MsgExpectedMinItems = "must have at least this many entries: %d"
	validation.MsgExpectedMaxItems = "must have at most this many entries: %d"
	validation.MsgExpectedMinProperties = "must have at least this many fields: %d"
	validation.MsgExpectedMaxProperties = "must have at most this many fields: %d"
	validation.MsgExpectedMatchAtLeastOneSchema = "must have one of the forms this field may take"
	validation.MsgExpectedMatchExactlyOneSchema = "must have exactly one of the forms this field may take"
	validation.MsgExpectedRFC3339Date = "must be a day of the calendar, as in 2026-01-17"
	validation.MsgExpectedRFC3339DateTime = "must be a time such as 2026-01-17T09:30:00Z"
	validation.MsgExpectedRFC5322Email = "must be an e-mail address"
}

// paramWords are the words of huma for parameters that it does not let us set.
var paramWords = map[string]string{
	"unknown query parameter":              "is not a parameter here: look at its spelling and its case",
	"required query parameter is missing":  "is missing",
	"required header parameter is missing": "is missing",
	"required path parameter is missing":   "is missing",
	"invalid integer":                      "must be a whole number",
	"invalid float":                        "must be a number",
	"invalid floating value":               "must be a number",
	"invalid boolean":                      "must be true or false",
}

// plainly formats a message with its numbers written out: 10000000, not 1e+07.
func plainly(format string, args ...any) string {
	for i, arg := range args {
		if f, ok := arg.(float64); ok {
			args[i] = strconv.FormatFloat(f, 'f', -1, 64)
		}
	}
	// Arguments that a message has no use for are left out of it.
	return fmt.Sprintf(format, args[:min(len(args), strings.Count(format, "%"))]...)
}
