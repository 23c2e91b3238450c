package proof

func (p *prover) coverage() {}

func (p *prover) holding() {}
