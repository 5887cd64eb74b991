package vehicle

// FindSQL shows the SQL of a search, for the test that reads its plan.
func FindSQL(text string, limit int) [][]any {
	var out [][]any
	for _, branches := range []func(string, bool, argue) []string{exactly, nearly} {
		if sql, args := findSQL(branches, text, limit, true); sql != "" {
			out = append(out, append([]any{sql}, args...))
		}
	}
	return out
}
