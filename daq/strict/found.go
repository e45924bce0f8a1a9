package strict

import (
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"
)

// describe shows a value in the words of the person who wrote it.
func describe(v any) string {
	switch v := v.(type) {
	case nil:
		return "nothing"
	case string:
		return Quote(v)
	case bool:
		return strconv.FormatBool(v)
	case int64:
		return strconv.FormatInt(v, 10)
	case float64:
		return strings.TrimPrefix(strings.ToLower(strconv.FormatFloat(v, 'g', -1, 64)), "+")
	case []any:
		return describeList(v)
	case map[string]any:
		return "a table"
	case toml.LocalDate:
		return v.String()
	case toml.LocalDateTime, toml.LocalTime, time.Time:
		return "a time of day"
	}
	return "something else"
}

// longestList is the longest list that a message shows, in characters.
const longestList = 60

// describeList shows a short list whole, of any other only its length.
func describeList(list []any) string {
	if len(list) == 0 {
		return "an empty list"
	}
	parts, size := make([]string, 0, len(list)), 0
	for _, e := range list {
		if size > longestList {
			break
		}
		if inner, ok := e.([]any); ok && len(inner) > 2 {
			return "a list of " + strconv.Itoa(len(list))
		}
		parts = append(parts, describe(e))
		size += len(parts[len(parts)-1]) + 2
	}
	if size > longestList {
		return "a list of " + strconv.Itoa(len(list))
	}
	return "[" + strings.Join(parts, ", ") + "]"
}
