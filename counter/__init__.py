"""The counter: customers at the till, money, papers, messages, the owner, all addresses."""
