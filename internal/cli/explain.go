package cli

import "sparclear/pkg/diag"

// explanations says what each finding of this package means; sparclear help CODE shows it.
func explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"certificate-missing", `The certificate that the programs shall be held against cannot be
read. It lies beside them as certificate.json. Check the name.`},
		{"compare-failed", `The two programs cannot be compared, since one of them is not
understood. Prove each of them first.`},
		{"demo-unknown", `There is no demo of that name; the nearest one is given. sparclear help
lists the kinds, and --kind all writes every one.`},
		{"file-mistaken", `The file that was named is of another kind than the command reads, or it is a
folder. Perhaps two names were exchanged. The help says which command reads it.`},
		{"length-broken", `An option takes a length: a number in mm, or text with a unit such as
"1/8 in" or "3 mm". Correct it.`},
		{"output-over-input", `What is to be written would overwrite a file that the job reads, a
drawing or heights. They are yours and are not touched. Name another folder by --out, or move the
file beside the job.`},
		{"profiles-missing", `The folder of your own machines, cutters and materials is not there.
Check --profiles and SPARCLEAR_PROFILES.`},
	}
}
