"""What do closed and open jobs say: why did one end where it did, and how does the shop do over all of them?"""
