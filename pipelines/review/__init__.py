"""The reviewer's pages: every reading beside its sound, its picture and its limit, decided by a person."""
