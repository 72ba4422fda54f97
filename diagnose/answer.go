package diagnose

import (
	"fmt"
	"strings"
)

// answer says what comes of the findings, also where there is none.
func answer(c *Case) Answer {
	t := c.Take
	if !t.Recording.Usable {
		return Answer{AnswerCannotTell, "Cannot tell, because the recording cannot be measured."}
	}
	if len(t.Findings) > 0 {
		var names []string
		for _, f := range t.Findings {
			names = append(names, fmt.Sprintf("%s (%s)", strings.ReplaceAll(f.Fault, "-", " "), f.Strength))
		}
		return Answer{AnswerFindings, "The take gives evidence for: " + strings.Join(names, ", ") + "."}
	}
	return Answer{AnswerCannotTell, "Cannot tell: no cause stands out."}
}
