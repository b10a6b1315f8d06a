"""Every rule and limit made slightly wrong: what no test notices."""
