//! People who sign in: passwords, sessions, the first account.

pub(crate) mod begin;
pub(crate) mod caller;
pub(crate) mod change;
pub(crate) mod login;
pub(crate) mod own;
pub(crate) mod passkeys;
pub(crate) mod password;
pub(crate) mod session;
pub(crate) mod sign_in;
pub(crate) mod sign_out;

pub(crate) use caller::Caller;
