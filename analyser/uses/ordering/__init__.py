"""The steps of a stage in another order: is there one that keeps what is required in every state?"""
