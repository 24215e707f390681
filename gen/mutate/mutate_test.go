package mutate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Numbers, operators, constants of a kind, statements, conditions and rows of tables are
// changed; comments, strings, defines and signs are not.
func TestMutants(t *testing.T) {
	var changed []string
	for _, m := range Mutants("a.c", `#define A 5 /* 6 */
static uint8_t f(void)
{
    if (a < 2U) { /* 7 */
        b = PW_STATE_ONE; /* to return to */
    }
    return -PW_STATE_TWO;
}
static const x t[] = {
    {8, "9"}, /* first */
    {8, ""}, /* second */
};
`) {
		changed = append(changed, m.Marked+" => "+m.Is)
	}
	assert.Equal(t, []string{
		"    if (a «<» 2U) { /* 7 */ => <=",
		"    if (a «<» 2U) { /* 7 */ => >=",
		"    if (a < «2U») { /* 7 */ => 3U",
		"    if (a < «2U») { /* 7 */ => 1U",
		"    if (a < «2U») { /* 7 */ => 0U",
		"        b = «PW_STATE_ONE»; /* to return to */ => PW_STATE_TWO",
		"    return -«PW_STATE_TWO»; => PW_STATE_ONE",
		"    {«8», \"9\"}, /* first */ => 9",
		"    {«8», \"9\"}, /* first */ => 7",
		"    {«8», \"9\"}, /* first */ => 0",
		"    {«8», \"\"}, /* second */ => 9",
		"    {«8», \"\"}, /* second */ => 7",
		"    {«8», \"\"}, /* second */ => 0",
		"«    if (a < 2U) { /* 7 */» =>     if (!(a < 2U)) {",
		"«        b = PW_STATE_ONE; /* to return to */» => ;",
		"«    {8, \"9\"}, /* first */\n    {8, \"\"}, /* second */\n»}; =>     {8, \"\"}, /* second */\n    {8, \"9\"}, /* first */\n",
	}, changed)
}

func TestChoose(t *testing.T) {
	all := Mutants("a.c", "int a = 1;\nint b = 2;\n")
	for which, want := range map[string]int{"all": 5, "2": 2, "9": 5, "a.c:1:": 2, "3 for": 1} {
		some, err := Choose(all, which)
		require.NoError(t, err)
		assert.Len(t, some, want, which)
	}
	_, err := Choose(all, "(")
	assert.ErrorContains(t, err, `"(" is neither a number, nor all, nor a regular expression`)
}
