package rs274

// rule is one way in which a program can be wrong, or one thing that is read
// but not accepted.
type rule uint8

const (
	ruleTooLong rule = iota
	ruleLineLong
	ruleCharacter
	ruleLetter
	ruleNumber
	ruleLineNumber
	ruleCommentOpen
	ruleCommentNested
	ruleCommentCharacter
	ruleWordTwice
	ruleGroupTwice
	ruleManyM
	ruleGCode
	ruleMCode
	ruleParameter
	ruleProbeResult
	ruleSetting
	ruleExpression
	ruleFunction
	ruleValue
	ruleRange
	rulePercent
	ruleNoEnd
	ruleAfterEnd
	ruleWordUnused
	ruleAxisUnused
	ruleAxisTwice
	ruleAxisMissing
	ruleRotary
	ruleFeed
	ruleFeedUnits
	ruleInverseTime
	ruleSpeed
	ruleIndex
	ruleDwell
	ruleCompensation
	ruleCompensationTool
	ruleCompensationCorner
	ruleCompensationGouge
	ruleLengthIndex
	ruleMachineMove
	ruleArcFormat
	ruleArcRadius
	ruleArcReach
	ruleArcAmbiguous
	ruleCycleWord
	ruleCycleValue
	ruleCycleDepth
	ruleCycleSpindle
	ruleRetract
	ruleProbe
	ruleOffset
	ruleTooManyMoves
	ruleTooManyFindings
	ruleCount
)

// weight tells what a broken rule does.
type weight uint8

const (
	wrong   weight = iota // the text breaks the language: stop, input
	refused               // the text may be right, but is not accepted: stop
	warned                // read, with a remark
)

type ruleText struct {
	code   string
	weight weight
	help   string
}

// ruleTexts holds code and repair of each rule. Section numbers are those of
// Kramer, Proctor, Messina, The NIST RS274/NGC Interpreter, Version 3, NISTIR
// 6556, 2000.
var ruleTexts = [ruleCount]ruleText{
	ruleTooLong:            {"rs274-file-long", refused, "split the program; at most 1 GiB of text is read"},
	ruleLineLong:           {"rs274-line-long", wrong, "a line holds at most 256 characters (NISTIR 6556, 3.3)"},
	ruleCharacter:          {"rs274-character", wrong, "take the character out; what the language does not allow is an error (3.3)"},
	ruleLetter:             {"rs274-letter", wrong, "words begin with A B C D F G H I J K L M P Q R S T X Y Z, and N only at the start of a line (Table 3)"},
	ruleNumber:             {"rs274-number", wrong, "a number is an optional sign, digits and an optional point, with at least one digit and no exponent (3.3.2.1)"},
	ruleLineNumber:         {"rs274-line-number", wrong, "a line number is N and one to five digits, first on the line (3.3.1)"},
	ruleCommentOpen:        {"rs274-comment-open", wrong, "close the comment with ) on the same line (3.3.4)"},
	ruleCommentNested:      {"rs274-comment-nested", wrong, "a comment holds no second ( (3.3.4)"},
	ruleCommentCharacter:   {"rs274-comment-character", wrong, "a comment holds printable characters only (3.3.4)"},
	ruleWordTwice:          {"rs274-word-twice", wrong, "a line holds one word of each letter, apart from G and M (3.3.5)"},
	ruleGroupTwice:         {"rs274-group-twice", wrong, "a line holds one word of each modal group (3.3.5, Table 4)"},
	ruleManyM:              {"rs274-many-m", wrong, "a line holds at most four M words (3.3.5)"},
	ruleGCode:              {"rs274-g-code", wrong, "see Table 5 for the G words there are"},
	ruleMCode:              {"rs274-m-code", wrong, "see Table 7 for the M words there are; words of one controller alone are named by its profile"},
	ruleParameter:          {"rs274-parameter", wrong, "parameters are #1 to #5399, a whole number (3.3.2.2)"},
	ruleProbeResult:        {"rs274-probe-result", refused, "where a probe touches is known on the machine only; measure first and write the values into the job"},
	ruleSetting:            {"rs274-setting", wrong, "set a parameter as #3=15 (3.3.3)"},
	ruleExpression:         {"rs274-expression", wrong, "an expression is [value operator value …] with + - * / ** MOD AND OR XOR (3.3.2.3)"},
	ruleFunction:           {"rs274-function", wrong, "there are ABS ACOS ASIN ATAN COS EXP FIX FUP LN ROUND SIN SQRT TAN, with the argument in [ ]; ATAN[y]/[x] has two (3.3.2.4)"},
	ruleValue:              {"rs274-value", wrong, "the expression has no finite real value"},
	ruleRange:              {"rs274-range", refused, "lengths up to 1e6 mm, feeds up to 1e7 mm/min and speeds up to 1e7 rpm are read"},
	rulePercent:            {"rs274-percent", wrong, "a program that begins with a % line ends with one (3.1)"},
	ruleNoEnd:              {"rs274-no-end", wrong, "end the program with M2 or M30, or put it between % lines (3.1); it may have been cut off"},
	ruleAfterEnd:           {"rs274-after-end", warned, "what follows the end of the program is not run (3.1); take it out if it is not meant to be"},
	ruleWordUnused:         {"rs274-word-unused", wrong, "take the word out, or add the G word that uses it"},
	ruleAxisUnused:         {"rs274-axis-unused", wrong, "say how to move: G0, G1, G2 or G3 (3.5.15, 3.4)"},
	ruleAxisTwice:          {"rs274-axis-twice", wrong, "put the two G words that use axis words on two lines (3.4)"},
	ruleAxisMissing:        {"rs274-axis-missing", wrong, "say where to: at least one of X, Y and Z"},
	ruleRotary:             {"rs274-rotary", refused, "three-axis programs are read; take the A, B or C word out"},
	ruleFeed:               {"rs274-feed", wrong, "give an F word above 0 before the first cut"},
	ruleFeedUnits:          {"rs274-feed-units", warned, "F is carried out before G20 and G21 (Table 8): write it on a later line"},
	ruleInverseTime:        {"rs274-inverse-time", wrong, "under G93 each line with G1, G2 or G3 needs its own F above 0 (3.5.19), and neither cycles nor probing are possible"},
	ruleSpeed:              {"rs274-speed", wrong, "S is not negative (3.7.2)"},
	ruleIndex:              {"rs274-index", wrong, "the number is whole, not negative and within the slots that the machine has"},
	ruleDwell:              {"rs274-dwell", wrong, "G4 needs P, in seconds, not negative (3.5.4)"},
	ruleCompensation:       {"rs274-compensation", wrong, "while compensation is on there are G0 to G3 in the XY plane only; G40 ends it (B.5)"},
	ruleCompensationTool:   {"rs274-compensation-tool", refused, "name a cutter whose diameter is known, and enter by a straight move or an arc with I and J"},
	ruleCompensationCorner: {"rs274-compensation-corner", wrong, "a contour under compensation has no concave corner without an arc (B.5)"},
	ruleCompensationGouge:  {"rs274-compensation-gouge", wrong, "the entry move is longer than the cutter's radius, and so is the radius of each arc that holds the cutter (B.5)"},
	ruleLengthIndex:        {"rs274-length-index", wrong, "G43 needs H, a whole number from 0 to the number of slots (3.5.11)"},
	ruleMachineMove:        {"rs274-machine-move", wrong, "G53 goes with G0 or G1 and axis words only (3.5.12)"},
	ruleArcFormat:          {"rs274-arc-format", wrong, "an arc has one or both words of its plane, and either R or offsets of its plane (3.5.3)"},
	ruleArcRadius:          {"rs274-arc-radius", wrong, "start and end must be equally far from the centre; write more decimals (3.5.3.2)"},
	ruleArcReach:           {"rs274-arc-reach", wrong, "R is at least half the distance from start to end, and end differs from start (3.5.3.1)"},
	ruleArcAmbiguous:       {"rs274-arc-ambiguous", refused, "start and end differ by less than a nanometre: full circle or no motion, depending on rounding; repeat the very coordinates"},
	ruleCycleWord:          {"rs274-cycle-word", wrong, "name the word when the cycle is first used (3.5.16)"},
	ruleCycleValue:         {"rs274-cycle-value", wrong, "P is not negative, Q is above 0, L is a whole number from 1 (3.5.16)"},
	ruleCycleDepth:         {"rs274-cycle-depth", wrong, "R lies above the bottom of the hole (3.5.16)"},
	ruleCycleSpindle:       {"rs274-cycle-spindle", wrong, "start the spindle before the cycle: M3 for G84, M3 or M4 for G86, G87 and G88 (3.5.16)"},
	ruleRetract:            {"rs274-retract", warned, "say G98 or G99 before the cycle; the lower of the two retracts was taken"},
	ruleProbe:              {"rs274-probe", wrong, "G38.2 goes at least 0.254 mm (3.5.9)"},
	ruleOffset:             {"rs274-offset", wrong, "G10 goes with L2 and P 1 to 9 (3.5.5), G92 with an axis word (3.5.18)"},
	ruleTooManyMoves:       {"rs274-many-moves", refused, "use fewer repeats (L) or deeper pecks (Q)"},
	ruleTooManyFindings:    {"rs274-many-findings", refused, "repair the lines named; the rest was not read"},
}

// Codes returns the codes of all findings that Read can give, each with the
// text of its repair, in a fixed order.
func Codes() [][2]string {
	out := make([][2]string, 0, len(ruleTexts))
	for _, t := range ruleTexts {
		out = append(out, [2]string{t.code, t.help})
	}
	return out
}
